"""Log-ins that failed, counted so that guessing a password takes for ever."""

from django.db import models


class FailedLogIn(models.Model):
    """How often a log-in name was tried in vain from an address, and when last."""

    name = models.CharField(max_length=150)
    address = models.CharField(max_length=45)  # an IPv6 address with an IPv4 one in it
    count = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["name", "address"], name="failed_log_ins_counted_once"),
        )

    def __str__(self) -> str:
        return f"{self.name} from {self.address}: {self.count}"
