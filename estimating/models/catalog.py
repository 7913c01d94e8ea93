"""Fence systems, the price book and production rates: the starter data, then the firm's rows."""

from django.core.validators import MinValueValidator
from django.db import models


class FenceSystem(models.Model):
    """A fence system; `definition` holds the fields that the engine's reader documents."""

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    definition = models.JSONField()
    is_active = models.BooleanField(default=True)
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class PriceItem(models.Model):
    """One row of the price book: `unit_cost` buys one purchase unit of `pack` units."""

    class Kind(models.TextChoices):
        MATERIAL = "material", "Material"
        EQUIPMENT = "equipment", "Equipment"
        FEE = "fee", "Fee"

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.MATERIAL)
    unit = models.CharField(max_length=20, default="each")
    purchase_unit = models.CharField(max_length=20, default="each")
    pack = models.FloatField(default=1, validators=[MinValueValidator(0.0001)])
    unit_cost = models.DecimalField(
        max_digits=12, decimal_places=4, validators=[MinValueValidator(0)]
    )
    waste_pct = models.FloatField(default=0, validators=[MinValueValidator(0.0)])
    yield_ft3 = models.FloatField(null=True, blank=True)
    stock_length_in = models.FloatField(null=True, blank=True)
    supplier = models.CharField(max_length=120, blank=True)
    part_number = models.CharField(max_length=80, blank=True)
    checked_on = models.DateField(null=True, blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = (
            "kind",
            "name",
        )
        constraints = (
            models.CheckConstraint(condition=models.Q(unit_cost__gte=0), name="price_not_negative"),
            models.CheckConstraint(condition=models.Q(pack__gt=0), name="price_pack_positive"),
            models.CheckConstraint(
                condition=models.Q(stock_length_in__gt=0), name="price_stock_length_positive"
            ),
        )

    def __str__(self) -> str:
        return self.name


class ProductionRate(models.Model):
    """Labour hours for one unit of work, from a date on; the newest row not in the future rules."""

    class Kind(models.TextChoices):
        HOURS = "hours", "Labour hours"
        SWELL_PCT = "swell_pct", "Swell of dug soil, per cent"
        LIMITS = "limits", "From where on a rate moves"

    kind = models.CharField(max_length=10, choices=Kind, default=Kind.HOURS)
    key = models.CharField(max_length=80)
    value = models.FloatField(validators=[MinValueValidator(0.0)])
    effective_from = models.DateField()

    class Meta:
        ordering = (
            "kind",
            "key",
            "-effective_from",
        )
        constraints = (
            models.UniqueConstraint(
                fields=["kind", "key", "effective_from"], name="one_rate_per_key_and_day"
            ),
        )

    def __str__(self) -> str:
        return f"{self.key} {self.value}"
