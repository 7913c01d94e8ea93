"""Crews: who works together and when, and the machines they share."""

import datetime as dt
from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models

from firm.measure.said import ENGLISH, LANGUAGES
from firm.models import JobSite, User

SEVEN = dt.time(7)
WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DAY_HOURS = [MinValueValidator(Decimal("0.25")), MaxValueValidator(Decimal(24))]


class Crew(models.Model):
    """People who go out together. `weekdays` are the digits of its working days, 0 for Monday."""

    name = models.CharField(max_length=60, unique=True)
    lead = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="led_crews"
    )
    day_start = models.TimeField(default=SEVEN)
    hours_per_day = models.DecimalField(
        max_digits=4, decimal_places=2, default=Decimal(8), validators=DAY_HOURS
    )
    weekdays = models.CharField(
        max_length=7,
        default="01234",
        validators=[RegexValidator(r"\A0?1?2?3?4?5?6?\Z")],
    )
    # What the crew's own sheets are written in.
    language = models.CharField(max_length=5, choices=LANGUAGES, default=ENGLISH)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(language__in=[key for key, _ in LANGUAGES]),
                name="crew_language_known",
            ),
            models.CheckConstraint(
                condition=models.Q(hours_per_day__gt=0, hours_per_day__lte=24),
                name="crew_day_of_up_to_24_hours",
            ),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def weekday_numbers(self) -> frozenset[int]:
        """The working days as Python counts them, 0 for Monday."""
        return frozenset(int(digit) for digit in self.weekdays)

    @property
    def working_days(self) -> str:
        """The working days in words: 'Mon, Tue, Wed'."""
        return ", ".join(WEEKDAY_NAMES[number][:3] for number in sorted(self.weekday_numbers))


class CrewMember(models.Model):
    """A person of a crew, with or without a log-in.

    `hourly_cost` is what an hour of this person costs the firm, burden included: the owner's
    alone to see. Empty means the firm's crew rate. `language` is what sheets are written in for
    this person; empty means the crew's.
    """

    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, related_name="members")
    name = models.CharField(max_length=80)
    user = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="crew_memberships"
    )
    hourly_cost = models.DecimalField(
        max_digits=7,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
    )
    language = models.CharField(max_length=5, choices=LANGUAGES, blank=True)
    is_active = models.BooleanField(default=True)
    skills = models.ManyToManyField("scheduling.Skill", blank=True, related_name="members")

    class Meta:
        ordering = (
            "crew",
            "name",
        )
        constraints = (
            models.UniqueConstraint(fields=["crew", "name"], name="member_name_once_per_crew"),
            models.CheckConstraint(
                condition=models.Q(hourly_cost__isnull=True) | models.Q(hourly_cost__gte=0),
                name="member_cost_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(language__in=["", *(key for key, _ in LANGUAGES)]),
                name="member_language_known",
            ),
        )

    def __str__(self) -> str:
        return self.name

    def is_same_person(self, other: "CrewMember") -> bool:
        """Say whether both are one person in two crews: of one log-in, or else of one name."""
        if self.user_id is not None and other.user_id is not None:
            return self.user_id == other.user_id
        return self.name.strip().casefold() == other.name.strip().casefold()


class CrewDaysOff(models.Model):
    """Days on which a crew does not work, first and last day included."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="days_off")
    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ("first_day",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")),
                name="days_off_end_after_they_begin",
            ),
        )

    def __str__(self) -> str:
        return f"{self.crew} off {self.first_day} to {self.last_day}"


class MemberTimeOff(models.Model):
    """Days on which one person is not there, first and last day included.

    They count in every crew in which the person works.
    """

    member = models.ForeignKey(CrewMember, on_delete=models.CASCADE, related_name="time_off")
    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ("first_day",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")),
                name="time_off_ends_after_it_begins",
            ),
        )

    def __str__(self) -> str:
        return f"{self.member} off {self.first_day} to {self.last_day}"


class WorkedHoliday(models.Model):
    """A public holiday on which the firm works after all."""

    date = models.DateField(unique=True)
    name = models.CharField(max_length=120)

    class Meta:
        ordering = ("date",)

    def __str__(self) -> str:
        return f"{self.name}, {self.date}"


class Machine(models.Model):
    """A machine that crews share; `dig_method` names the way of digging that needs it.

    Where it can be rented, crews are never short of it: a day of one more costs `day_rate`.
    """

    name = models.CharField(max_length=60, unique=True)
    dig_method = models.CharField(
        max_length=14, choices=JobSite.DigMethod, unique=True, null=True, blank=True
    )
    owned = models.PositiveSmallIntegerField(default=1)
    is_rentable = models.BooleanField(default=False)
    day_rate = models.DecimalField(
        max_digits=8, decimal_places=2, default=Decimal(0), validators=[MinValueValidator(0)]
    )

    class Meta:
        ordering = ("name",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(day_rate__gte=0), name="machine_day_rate_not_negative"
            ),
        )

    def __str__(self) -> str:
        return self.name
