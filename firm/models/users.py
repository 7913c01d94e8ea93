"""People who log in, and the one role each of them has."""

from django.contrib.auth.models import AbstractUser
from django.db import models


class Role(models.TextChoices):
    """What a person may see and do."""

    OWNER = "owner", "Owner"
    OFFICE = "office", "Office"
    CREW_LEAD = "crew_lead", "Crew lead"


class User(AbstractUser):
    """Someone of the firm who logs in."""

    role = models.CharField(max_length=12, choices=Role, default=Role.CREW_LEAD)
    phone = models.CharField(max_length=40, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=models.Q(role__in=[role.value for role in Role]), name="user_role_known"
            ),
        )

    def __str__(self) -> str:
        """Return the name colleagues know, not the one that is typed at the log-in."""
        return self.get_full_name() or self.username

    @property
    def is_owner(self) -> bool:
        """Whether this person sees everything."""
        return self.role == Role.OWNER

    @property
    def sees_prices(self) -> bool:
        """Whether this person sees prices, rates and margins of open estimates."""
        return self.role in {Role.OWNER, Role.OFFICE}
