"""Fence systems, the price book and production rates: the starter data, then the firm's rows."""

from django.core.validators import MinValueValidator
from django.db import models

from estimating.models.suppliers import Supplier
from firm.models.money import FineCostField


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
    unit_cost = FineCostField(validators=[MinValueValidator(0)])
    waste_pct = models.FloatField(default=0, validators=[MinValueValidator(0.0)])
    yield_ft3 = models.FloatField(null=True, blank=True)
    stock_length_in = models.FloatField(null=True, blank=True)
    supplier = models.ForeignKey(
        Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="items"
    )
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


class UncertainRow(models.Model):
    """A figure that the firm is not sure of: a range round it, or a chance that adds to it.

    The fields are those of the engine's `Uncertain`, which says what each of them counts.
    """

    class Target(models.TextChoices):
        REMOVAL_HOURS = "hours:removal", "Hours: taking out the old fence"
        LAYOUT_HOURS = "hours:layout", "Hours: layout"
        DIG_HOURS = "hours:dig", "Hours: digging"
        SET_HOURS = "hours:set", "Hours: setting posts"
        HANG_HOURS = "hours:hang", "Hours: hanging"
        GATE_HOURS = "hours:gates", "Hours: gates"
        CLEAN_UP_HOURS = "hours:clean_up", "Hours: set-up and clean-up"
        CONCRETE = "concrete", "Concrete"
        MATERIAL = "material", "All material"
        ROCK_HOLE = "rock_hole", "Rock, each hole for itself"
        RETURN_TRIP = "return_trip", "One more trip"

    class Shape(models.TextChoices):
        TRIANGULAR = "triangular", "A range: low, likely, high"
        CHANCE = "chance", "A chance that adds something"

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    target = models.CharField(max_length=20, choices=Target)
    shape = models.CharField(max_length=10, choices=Shape, default=Shape.TRIANGULAR)
    low_pct = models.FloatField(default=0)
    likely_pct = models.FloatField(default=0)
    high_pct = models.FloatField(default=0)
    chance_pct = models.FloatField(default=0)
    extra = models.FloatField(default=0)
    source = models.CharField(max_length=200, blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = (
            "target",
            "name",
        )
        constraints = (
            models.CheckConstraint(
                condition=models.Q(low_pct__lte=models.F("likely_pct"))
                & models.Q(likely_pct__lte=models.F("high_pct")),
                name="uncertain_row_rises",
            ),
            models.CheckConstraint(
                condition=models.Q(chance_pct__gte=0, chance_pct__lte=100, extra__gte=0),
                name="uncertain_row_has_a_chance",
            ),
            models.CheckConstraint(
                condition=~models.Q(shape="triangular", target__in=["rock_hole", "return_trip"]),
                name="uncertain_row_counts_by_chance",
            ),
        )

    def __str__(self) -> str:
        return self.name
