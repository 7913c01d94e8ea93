"""The weather: what was entered or forecast for days, and the air usual in each month."""

from django.db import models

from firm.models import User
from scheduling.engine.air import COLDEST_F, HOTTEST_F


class AirTemperature(models.Model):
    """The lowest and highest temperature of a day, or those usual in a month of the year.

    One table for both, so that whoever reckons with the air asks the database once.
    """

    class Source(models.TextChoices):
        ENTERED = "entered", "as it was"
        FORECAST = "forecast", "forecast"
        USUAL = "usual", "usual in the month"

    date = models.DateField(null=True, blank=True, unique=True)
    month = models.PositiveSmallIntegerField(null=True, blank=True, unique=True)
    low_f = models.FloatField()
    high_f = models.FloatField()
    source = models.CharField(max_length=8, choices=Source)
    entered_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True)
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ("date", "month")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(low_f__lte=models.F("high_f")),
                name="air_low_not_over_its_high",
            ),
            models.CheckConstraint(
                condition=models.Q(low_f__gte=COLDEST_F, high_f__lte=HOTTEST_F),
                name="air_as_it_can_be",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    date__isnull=False, month__isnull=True, source__in=["entered", "forecast"]
                )
                | models.Q(
                    date__isnull=True, month__isnull=False, month__range=(1, 12), source="usual"
                ),
                name="air_of_a_day_or_a_month",
            ),
        )

    def __str__(self) -> str:
        return f"Air of {self.date or f'month {self.month}'}"


class RainDay(models.Model):
    """The rain of a day: what fell, or what is forecast."""

    class Source(models.TextChoices):
        ENTERED = "entered", "as it was"
        FORECAST = "forecast", "forecast"

    date = models.DateField(unique=True)
    rain_in = models.FloatField()
    source = models.CharField(max_length=8, choices=Source)
    entered_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True)
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ("date",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(rain_in__gte=0, rain_in__lte=20), name="rain_as_it_can_be"
            ),
            models.CheckConstraint(
                condition=models.Q(source__in=["entered", "forecast"]), name="rain_source_known"
            ),
        )

    def __str__(self) -> str:
        return f"Rain of {self.date}"


class DryingAir(models.Model):
    """How the air of a day dries fresh concrete: its warmth at the pour, humidity and wind.

    `concrete_f` is None where it is as warm as the air.
    """

    date = models.DateField(unique=True)
    air_f = models.FloatField()
    humidity_pct = models.FloatField()
    wind_mph = models.FloatField()
    concrete_f = models.FloatField(null=True, blank=True)
    entered_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True)
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ("date",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(
                    air_f__gte=COLDEST_F,
                    air_f__lte=HOTTEST_F,
                    humidity_pct__gte=0,
                    humidity_pct__lte=100,
                    wind_mph__gte=0,
                    wind_mph__lte=100,
                ),
                name="drying_air_as_it_can_be",
            ),
            models.CheckConstraint(
                condition=models.Q(concrete_f__isnull=True)
                | models.Q(concrete_f__gte=32, concrete_f__lte=130),
                name="drying_concrete_as_it_can_be",
            ),
        )

    def __str__(self) -> str:
        return f"Drying air of {self.date}"
