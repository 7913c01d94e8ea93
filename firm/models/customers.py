"""Customers, and the enquiries they make."""

from django.db import models

from firm.models.users import User


class Customer(models.Model):
    """Someone the firm works for, or may work for."""

    name = models.CharField(max_length=120)
    company = models.CharField(max_length=120, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    other_phone = models.CharField(max_length=40, blank=True)
    street = models.CharField(max_length=120, blank=True)
    city = models.CharField(max_length=80, blank=True)
    state = models.CharField(max_length=40, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    source = models.CharField(max_length=80, blank=True)
    notes = models.TextField(blank=True)
    created_at = models.DateTimeField()

    class Meta:
        ordering = (
            "name",
            "pk",
        )
        indexes = (
            models.Index(fields=["name"]),
            models.Index(fields=["email"]),
        )
        constraints = (
            models.CheckConstraint(condition=~models.Q(name=""), name="customer_has_a_name"),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def address_lines(self) -> list[str]:
        """The address as it is printed, without empty parts."""
        town = " ".join(
            part
            for part in (f"{self.city}," if self.city else "", self.state, self.postcode)
            if part
        )
        return [line for line in (self.street, town) if line]


class Enquiry(models.Model):
    """Someone asked for a fence, a gate or a repair."""

    class State(models.TextChoices):
        NEW = "new", "New"
        VISIT_BOOKED = "visit_booked", "Visit booked"
        MEASURED = "measured", "Measured"
        CLOSED = "closed", "Closed"

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="enquiries")
    site = models.ForeignKey(
        "firm.JobSite", on_delete=models.SET_NULL, null=True, blank=True, related_name="enquiries"
    )
    wanted = models.TextField()
    reason = models.CharField(max_length=120, blank=True)
    place = models.CharField(max_length=200, blank=True)
    rough_length_ft = models.FloatField(null=True, blank=True)
    asker_owns = models.BooleanField(null=True, blank=True)
    source = models.CharField(max_length=80, blank=True)
    wanted_by = models.DateField(null=True, blank=True)
    appointment_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=14, choices=State, default=State.NEW)
    notes = models.TextField(blank=True)
    taken_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        ordering = (
            "-created_at",
            "-pk",
        )
        verbose_name_plural = "enquiries"
        indexes = (models.Index(fields=["state", "appointment_at"]),)

    def __str__(self) -> str:
        return f"Enquiry {self.pk}: {self.customer}"
