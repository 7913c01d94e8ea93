"""Who the firm buys from."""

from django.core.validators import MaxValueValidator
from django.db import models

# A longer lead is a slip: a year is what made-to-order steel may take at most.
LONGEST_LEAD_DAYS = 365


class Supplier(models.Model):
    """A firm that sells material; `lead_days` are days of the calendar from order to delivery."""

    name = models.CharField(max_length=120, unique=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    account_number = models.CharField(max_length=60, blank=True)
    lead_days = models.PositiveSmallIntegerField(
        default=0, validators=[MaxValueValidator(LONGEST_LEAD_DAYS)]
    )
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(lead_days__gte=0, lead_days__lte=LONGEST_LEAD_DAYS),
                name="supplier_lead_up_to_a_year",
            ),
            models.CheckConstraint(condition=~models.Q(name=""), name="supplier_has_a_name"),
        )

    def __str__(self) -> str:
        return self.name
