"""The firm itself: who it is, how it prices, what its paper says."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

PERCENT = [MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(95))]
NOT_NEGATIVE = [MinValueValidator(Decimal(0))]


def percent_field(default: str = "0") -> "models.DecimalField[Decimal, Decimal]":
    """Return a field for a percentage from 0 to 95 with two places."""
    return models.DecimalField(
        max_digits=5, decimal_places=2, default=Decimal(default), validators=PERCENT
    )


def amount_field(default: str = "0") -> "models.DecimalField[Decimal, Decimal]":
    """Return a field for an amount of money to the cent, never negative."""
    return models.DecimalField(
        max_digits=12, decimal_places=2, default=Decimal(default), validators=NOT_NEGATIVE
    )


class FirmProfile(models.Model):
    """The one firm of this installation (row 1, and only row 1)."""

    class Units(models.TextChoices):
        US = "us", "Feet and inches"
        METRIC = "metric", "Metres and centimetres"

    class OverheadMethod(models.TextChoices):
        PER_CREW_DAY = "per_crew_day", "An amount per crew-day"
        PER_LABOR_HOUR = "per_labor_hour", "An amount per labour hour"
        PERCENT_OF_DIRECT = "percent_of_direct", "A percentage of direct cost"

    class SalesTaxBase(models.TextChoices):
        NONE = "none", "Charge the customer no sales tax"
        MATERIAL = "material", "Charge it on material"
        ALL = "all", "Charge it on the whole price"

    class ConcreteWay(models.TextChoices):
        BAGS_80 = "bags_80lb", "Bags of 80 lb"
        BAGS_60 = "bags_60lb", "Bags of 60 lb"
        BAGS_50 = "bags_50lb", "Bags of 50 lb"
        MIXER = "mixer", "Cement, sand and gravel in a mixer"
        READY_MIX = "ready_mix", "Ready-mixed, by truck"
        CHEAPEST = "cheapest", "Whatever is cheapest on the job"

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField(max_length=120)
    street = models.CharField(max_length=120)
    city = models.CharField(max_length=80)
    state = models.CharField(max_length=40)
    postcode = models.CharField(max_length=20)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    licence = models.CharField(max_length=80, blank=True)
    logo = models.ImageField(upload_to="logo/", blank=True)
    units = models.CharField(max_length=6, choices=Units, default=Units.US)

    # Labour. The wage and its burden are the owner's alone; the crew rate is what the office sees.
    wage_rate = amount_field("28.00")
    burden_pct = percent_field("35")
    crew_rate = amount_field("62.00")
    crew_size = models.PositiveSmallIntegerField(default=3, validators=[MinValueValidator(1)])
    hours_per_day = models.DecimalField(
        max_digits=4, decimal_places=2, default=Decimal(8), validators=[MinValueValidator(1)]
    )
    overhead_method = models.CharField(
        max_length=20, choices=OverheadMethod, default=OverheadMethod.PER_CREW_DAY
    )
    overhead_rate = amount_field("900.00")
    target_margin_pct = percent_field("12")
    commission_pct = percent_field("0")
    minimum_charge = amount_field("950.00")
    travel_per_trip = amount_field("85.00")
    ticket_fee = amount_field("0")
    rock_hole_price = amount_field("95.00")

    # Material that is sold without building it.
    goods_margin_pct = percent_field("25")
    goods_delivery_charge = amount_field("95.00")
    goods_sales_tax_pct = models.DecimalField(
        max_digits=6, decimal_places=4, null=True, blank=True, validators=PERCENT
    )

    sales_tax_base = models.CharField(
        max_length=10, choices=SalesTaxBase, default=SalesTaxBase.NONE
    )
    sales_tax_pct = models.DecimalField(
        max_digits=6, decimal_places=4, default=Decimal(0), validators=PERCENT
    )
    purchase_tax_pct = models.DecimalField(
        max_digits=6, decimal_places=4, default=Decimal(0), validators=PERCENT
    )

    hole_floor_in = models.FloatField(default=24.0)
    concrete_waste_pct = percent_field("10")
    concrete_way = models.CharField(max_length=12, choices=ConcreteWay, default=ConcreteWay.BAGS_80)
    saw_kerf_in = models.FloatField(default=0.125)
    keep_offcut_in = models.FloatField(default=24.0)
    gate_move_limit_in = models.FloatField(default=3.0)
    end_move_limit_in = models.FloatField(default=6.0)
    # The building code's class for each soil of the firm: "" none, left out the starter's.
    soil_bearing = models.JSONField(default=dict, blank=True)

    # Whose public holidays are days on which no crew works; empty for none.
    holiday_country = models.CharField(max_length=2, blank=True)
    holiday_state = models.CharField(max_length=10, blank=True)

    # Where the trucks stand at night, and how long a way by road is beside a straight one.
    yard_latitude = models.FloatField(null=True, blank=True)
    yard_longitude = models.FloatField(null=True, blank=True)
    road_factor = models.FloatField(
        default=1.3, validators=[MinValueValidator(1.0), MaxValueValidator(3.0)]
    )
    road_speed_mph = models.FloatField(default=30.0)

    next_estimate_number = models.PositiveIntegerField(default=1001)
    next_invoice_number = models.PositiveIntegerField(default=1001)
    next_order_number = models.PositiveIntegerField(default=1001)

    deposit_pct = percent_field("40")
    deposit_cap_pct = models.DecimalField(
        max_digits=5, decimal_places=2, null=True, blank=True, validators=PERCENT
    )
    deposit_cap_amount = models.DecimalField(
        max_digits=12, decimal_places=2, null=True, blank=True, validators=NOT_NEGATIVE
    )
    valid_days = models.PositiveSmallIntegerField(default=30)
    cancellation_business_days = models.PositiveSmallIntegerField(default=3)
    terms = models.TextField(blank=True)
    licence_text = models.TextField(blank=True)
    cancellation_text = models.TextField(blank=True)
    lien_text = models.TextField(blank=True)
    warranty_text = models.TextField(blank=True)
    set_up_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(condition=models.Q(id=1), name="firm_profile_is_one_row"),
            models.CheckConstraint(
                condition=models.Q(target_margin_pct__gte=0, target_margin_pct__lte=95),
                name="firm_margin_in_range",
            ),
            models.CheckConstraint(
                condition=models.Q(yard_latitude__isnull=True, yard_longitude__isnull=True)
                | models.Q(yard_latitude__range=(-90, 90), yard_longitude__range=(-180, 180)),
                name="firm_yard_on_the_globe",
            ),
            models.CheckConstraint(
                condition=models.Q(road_factor__range=(1, 3), road_speed_mph__range=(5, 80)),
                name="firm_roads_as_they_can_be",
            ),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def yard(self) -> tuple[float | None, float | None]:
        """The yard in degrees north and east, a pair of None where nobody wrote it down."""
        return self.yard_latitude, self.yard_longitude

    @property
    def address_lines(self) -> list[str]:
        """The address as it is printed."""
        return [self.street, f"{self.city}, {self.state} {self.postcode}"]
