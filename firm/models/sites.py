"""Job sites, the jurisdictions they lie in, their papers and their clearances."""

from django.core.validators import MinValueValidator
from django.db import models

from firm.models.customers import Customer
from firm.models.profile import amount_field
from firm.models.users import User

LENGTH = [MinValueValidator(0.0)]


class Jurisdiction(models.Model):
    """A town or county: its rules for fences, and the rule of its locate tickets."""

    class DayKind(models.TextChoices):
        WORKING = "working", "Working days"
        CALENDAR = "calendar", "Calendar days"
        HOURS = "hours", "Hours"

    class CountFrom(models.TextChoices):
        CALL = "call", "From the call"
        START = "start", "From the stated start"

    name = models.CharField(max_length=120, unique=True)
    frost_depth_in = models.FloatField(default=0, validators=LENGTH)
    hole_depth_in = models.FloatField(default=0, validators=LENGTH)
    height_limit_front_in = models.FloatField(null=True, blank=True, validators=LENGTH)
    height_limit_side_in = models.FloatField(null=True, blank=True, validators=LENGTH)
    height_limit_rear_in = models.FloatField(null=True, blank=True, validators=LENGTH)
    setback_in = models.FloatField(default=0, validators=LENGTH)
    permit_required = models.BooleanField(default=True)
    permit_fee = amount_field("0")
    inspections = models.TextField(blank=True)
    hand_dig_tolerance_in = models.FloatField(default=24, validators=LENGTH)
    pool_height_in = models.FloatField(null=True, blank=True, validators=LENGTH)
    pool_gap_in = models.FloatField(null=True, blank=True, validators=LENGTH)
    sight_leg_in = models.FloatField(null=True, blank=True, validators=LENGTH)
    sight_low_in = models.FloatField(default=36, validators=LENGTH)
    sight_high_in = models.FloatField(default=0, validators=LENGTH)

    locate_day_kind = models.CharField(max_length=8, choices=DayKind, default=DayKind.WORKING)
    locate_notice = models.PositiveSmallIntegerField(default=3)
    locate_count_from = models.CharField(max_length=5, choices=CountFrom, default=CountFrom.CALL)
    locate_earliest_call_days = models.PositiveSmallIntegerField(default=10)
    locate_life_days = models.PositiveSmallIntegerField(default=20)
    locate_life_kind = models.CharField(max_length=8, choices=DayKind, default=DayKind.CALENDAR)
    locate_renew_days_before = models.PositiveSmallIntegerField(default=2)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(
                    frost_depth_in__gte=0, hole_depth_in__gte=0, hand_dig_tolerance_in__gte=0
                ),
                name="jurisdiction_depths_not_negative",
            ),
        )

    def __str__(self) -> str:
        return self.name


class JobSite(models.Model):
    """A place where a fence is to stand."""

    class Soil(models.TextChoices):
        SAND = "sand", "Sand or loam"
        NORMAL = "normal", "Normal clay loam"
        STIFF = "stiff", "Stiff clay, roots, cobbles"
        SHALE = "shale", "Shale, large cobbles"

    class Exposure(models.TextChoices):
        B = "B", "B: town, woods"
        C = "C", "C: open country"
        D = "D", "D: shore of open water"

    class DigMethod(models.TextChoices):
        SKID_STEER = "skid_steer", "Skid-steer auger"
        MINI_LOADER = "mini_loader", "Mini-loader auger"
        TWO_MAN_AUGER = "two_man_auger", "Two-man power auger"
        HAND = "hand", "By hand"

    class Spoil(models.TextChoices):
        SPREAD = "spread", "Spread on site"
        HAUL = "haul", "Hauled away"

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="sites")
    jurisdiction = models.ForeignKey(
        Jurisdiction, on_delete=models.PROTECT, null=True, blank=True, related_name="sites"
    )
    street = models.CharField(max_length=120)
    city = models.CharField(max_length=80)
    state = models.CharField(max_length=40, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    latitude = models.FloatField(null=True, blank=True)
    longitude = models.FloatField(null=True, blank=True)
    owner_name = models.CharField(max_length=120, blank=True)
    soil = models.CharField(max_length=8, choices=Soil, default=Soil.NORMAL)
    dig_method = models.CharField(max_length=14, choices=DigMethod, default=DigMethod.TWO_MAN_AUGER)
    wind_speed_mph = models.FloatField(null=True, blank=True, validators=LENGTH)
    exposure = models.CharField(max_length=1, choices=Exposure, default=Exposure.B)
    access_width_in = models.FloatField(null=True, blank=True, validators=LENGTH)
    long_barrow = models.BooleanField(default=False)
    spoil = models.CharField(max_length=6, choices=Spoil, default=Spoil.SPREAD)
    pool_barrier = models.BooleanField(default=False)
    access = models.TextField(blank=True)
    gate_code = models.CharField(max_length=40, blank=True)
    dog = models.CharField(max_length=120, blank=True)
    notes = models.TextField(blank=True)
    created_at = models.DateTimeField()

    class Meta:
        ordering = (
            "-created_at",
            "-pk",
        )
        constraints = (
            models.CheckConstraint(
                condition=models.Q(latitude__isnull=True, longitude__isnull=True)
                | models.Q(latitude__range=(-90, 90), longitude__range=(-180, 180)),
                name="site_on_the_globe",
            ),
        )

    def __str__(self) -> str:
        return f"{self.street}, {self.city}"

    @property
    def place(self) -> tuple[float | None, float | None]:
        """The place in degrees north and east, a pair of None where nobody wrote it down."""
        return self.latitude, self.longitude


class Attachment(models.Model):
    """A survey, a photo or another paper of a site, kept as it came."""

    class Kind(models.TextChoices):
        SURVEY = "survey", "Survey or plat"
        PHOTO = "photo", "Photo"
        SIGNED = "signed", "Signed paper"
        OTHER = "other", "Other"

    site = models.ForeignKey(JobSite, on_delete=models.PROTECT, related_name="attachments")
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.PHOTO)
    file = models.FileField(upload_to="sites/%Y/%m/")
    original_name = models.CharField(max_length=200)
    content_type = models.CharField(max_length=100)
    size_bytes = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    captured_at = models.DateTimeField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    uploaded_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    uploaded_at = models.DateTimeField()

    class Meta:
        ordering = (
            "-uploaded_at",
            "-pk",
        )

    def __str__(self) -> str:
        return self.original_name


class Clearance(models.Model):
    """One thing that must be settled before anyone digs: a paper, a mark, a payment."""

    class Kind(models.TextChoices):
        PINS = "pins", "Survey pins"
        EASEMENT = "easement", "Right of way and easements"
        PERMIT = "permit", "Permit"
        ASSOCIATION = "association", "Association approval"
        LOCATE = "locate", "Locate ticket"
        DEPOSIT = "deposit", "Deposit received"

    class State(models.TextChoices):
        NOT_ASKED = "not_asked", "Not asked for yet"
        ASKED = "asked", "Asked for"
        CLEAR = "clear", "Clear"
        REFUSED = "refused", "Refused"
        NOT_NEEDED = "not_needed", "Not needed"

    site = models.ForeignKey(JobSite, on_delete=models.CASCADE, related_name="clearances")
    kind = models.CharField(max_length=12, choices=Kind)
    state = models.CharField(max_length=10, choices=State, default=State.NOT_ASKED)
    number = models.CharField(max_length=80, blank=True)
    asked_on = models.DateField(null=True, blank=True)
    stated_start_on = models.DateField(null=True, blank=True)
    clear_on = models.DateField(null=True, blank=True)
    renew_by = models.DateField(null=True, blank=True)
    expires_on = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = (
            "site",
            "pk",
        )
        constraints = (
            models.UniqueConstraint(
                fields=["site", "kind", "number"], name="clearance_number_once_per_site"
            ),
            models.CheckConstraint(
                condition=models.Q(expires_on__isnull=True)
                | models.Q(clear_on__isnull=True)
                | models.Q(expires_on__gte=models.F("clear_on")),
                name="clearance_ends_after_it_begins",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}".strip()


class UtilityAnswer(models.Model):
    """What one utility answered to a locate ticket."""

    class Answer(models.TextChoices):
        WAITING = "waiting", "No answer yet"
        MARKED = "marked", "Marked"
        NOTHING_THERE = "nothing_there", "Nothing there"
        CONFLICT = "conflict", "Conflict, must talk"

    clearance = models.ForeignKey(Clearance, on_delete=models.CASCADE, related_name="answers")
    utility = models.CharField(max_length=80)
    answer = models.CharField(max_length=14, choices=Answer, default=Answer.WAITING)
    answered_on = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("utility",)
        constraints = (
            models.UniqueConstraint(
                fields=["clearance", "utility"], name="one_answer_per_utility_and_ticket"
            ),
        )

    def __str__(self) -> str:
        return f"{self.utility}: {self.get_answer_display()}"
