"""Jobs: sold work that is to be built, with the phases it is built in."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models

from firm.measure.said import Said
from firm.models import Customer, JobSite

PERCENT = Decimal(100)


class FenceJob(models.Model):
    """The work of one accepted proposal, with its money as it was sold; not a background job."""

    class State(models.TextChoices):
        TO_DO = "to_do", "To be done"
        FINISHED = "finished", "Finished"
        CALLED_OFF = "called_off", "Called off"

    class Side(models.TextChoices):
        LEFT = "left", "Left, seen from the line's start"
        RIGHT = "right", "Right, seen from the line's start"

    proposal = models.OneToOneField(
        "estimating.Proposal", on_delete=models.PROTECT, related_name="fence_job"
    )
    # Not unique: what a customer signed twice is two rows, and the page says so.
    number = models.PositiveIntegerField(db_index=True)
    revision = models.PositiveSmallIntegerField(default=0)
    title = models.CharField(max_length=120)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="fence_jobs")
    site = models.ForeignKey(
        JobSite, on_delete=models.PROTECT, null=True, blank=True, related_name="fence_jobs"
    )
    state = models.CharField(max_length=10, choices=State, default=State.TO_DO)
    signed_at = models.DateTimeField()
    cancellation_ends_at = models.DateTimeField()
    price_before_tax = models.DecimalField(max_digits=12, decimal_places=2)
    sales_tax = models.DecimalField(max_digits=12, decimal_places=2)
    direct_cost = models.DecimalField(max_digits=12, decimal_places=2)
    overhead = models.DecimalField(max_digits=12, decimal_places=2)
    commission = models.DecimalField(max_digits=12, decimal_places=2)
    made_at = models.DateTimeField()
    called_off_at = models.DateTimeField(null=True, blank=True)
    called_off_reason = models.CharField(max_length=300, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    # What the crew is told before it goes out.
    crew_note = models.TextField(blank=True)
    mix = models.CharField(max_length=40, default="standard")
    is_covered_against_frost = models.BooleanField(default=False)
    # The string the posts are set to: its side seen from the line's start, how far it stands off
    # the posts' faces, and its height over the ground at both ends.
    string_side = models.CharField(max_length=5, choices=Side, default=Side.LEFT)
    string_offset_in = models.FloatField(default=0.25, validators=[MinValueValidator(0.0)])
    string_height_in = models.FloatField(default=12.0, validators=[MinValueValidator(0.0)])

    inspection_before_pour = models.BooleanField(default=False)
    inspection_booked_on = models.DateField(null=True, blank=True)
    inspection_passed_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = (
            "-signed_at",
            "-pk",
        )
        indexes = (models.Index(fields=["state", "signed_at"]),)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(state__in=["to_do", "finished", "called_off"]),
                name="job_state_known",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    state__in=["to_do", "finished"],
                    called_off_at__isnull=True,
                    called_off_reason="",
                )
                | models.Q(state="called_off", called_off_at__isnull=False)
                & ~models.Q(called_off_reason=""),
                name="job_called_off_has_time_and_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(state="finished", finished_at__isnull=False)
                | ~models.Q(state="finished") & models.Q(finished_at__isnull=True),
                name="job_finished_has_its_time",
            ),
            models.CheckConstraint(
                condition=models.Q(string_offset_in__gte=0, string_height_in__gte=0),
                name="job_string_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    price_before_tax__gte=0,
                    sales_tax__gte=0,
                    direct_cost__gte=0,
                    overhead__gte=0,
                    commission__gte=0,
                ),
                name="job_money_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(cancellation_ends_at__gte=models.F("signed_at")),
                name="job_cancellation_ends_after_signing",
            ),
        )

    def __str__(self) -> str:
        return self.said

    @property
    def said(self) -> Said:
        """What people call it, in any language: 'Job 1001'."""
        return Said("Job {label}", label=self.label)

    @property
    def label(self) -> str:
        """The number as people say it; the same as the estimate's."""
        return f"{self.number}-{self.revision}" if self.revision else str(self.number)

    @property
    def price(self) -> Decimal:
        """What the customer pays, tax included."""
        return self.price_before_tax + self.sales_tax

    @property
    def estimated_margin(self) -> Decimal:
        """What was meant to remain of the price after direct cost, overhead and commission."""
        return self.price_before_tax - self.direct_cost - self.overhead - self.commission

    @property
    def estimated_margin_pct(self) -> Decimal:
        """The margin as a part of the price before tax."""
        if not self.price_before_tax:
            return Decimal(0)
        return self.estimated_margin / self.price_before_tax * PERCENT


class JobDates(models.Model):
    """The customer's days: what was promised, what is wanted, when nobody is wanted there.

    In a table of its own, so that no sheet loads what only the plan is judged by. `closed_days`
    are days as ISO 8601 writes them. The job begins when `after_job` is finished.
    """

    job = models.OneToOneField(FenceJob, on_delete=models.CASCADE, related_name="dates")
    promised_on = models.DateField(null=True, blank=True)
    wanted_by = models.DateField(null=True, blank=True)
    not_before = models.DateField(null=True, blank=True)
    closed_days = models.JSONField(default=list, blank=True)
    after_job = models.ForeignKey(
        FenceJob, on_delete=models.PROTECT, null=True, blank=True, related_name="followed_by"
    )

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=models.Q(after_job__isnull=True) | ~models.Q(after_job=models.F("job")),
                name="job_waits_not_for_itself",
            ),
            models.CheckConstraint(
                condition=models.Q(not_before__isnull=True)
                | models.Q(promised_on__isnull=True)
                | models.Q(promised_on__gte=models.F("not_before")),
                name="job_promised_no_earlier_than_it_may_begin",
            ),
        )

    def __str__(self) -> str:
        return f"Days of {self.job}"


class JobPhase(models.Model):
    """One phase of a job with the labour that was sold for it, at the crew rate of that day."""

    class Kind(models.TextChoices):
        REMOVAL = "removal", "Taking out the old fence"
        LAYOUT = "layout", "Layout and string"
        DIG = "dig", "Digging"
        SET = "set", "Setting posts, concrete"
        HANG = "hang", "Hanging"
        GATES = "gates", "Gates"
        CLEAN_UP = "clean_up", "Set-up, spoil, clean-up"
        EXTRA = "extra", "Other work"

    job = models.ForeignKey(FenceJob, on_delete=models.CASCADE, related_name="phases")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=Kind)
    # As fine as the estimate reckons, so that the phases add up to its hours.
    labor_hours = models.DecimalField(max_digits=12, decimal_places=6)
    labour_cost = models.DecimalField(max_digits=12, decimal_places=2)
    # What is built in this phase must be in the yard before: posts and concrete, rails, gates.
    needs_material = models.BooleanField(default=False)
    material_promised_on = models.DateField(null=True, blank=True)
    material_received_on = models.DateField(null=True, blank=True)
    finished_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = (
            "job",
            "position",
        )
        constraints = (
            models.UniqueConstraint(fields=["job", "kind"], name="phase_once_per_job"),
            models.CheckConstraint(
                condition=models.Q(
                    kind__in=[
                        "removal",
                        "layout",
                        "dig",
                        "set",
                        "hang",
                        "gates",
                        "clean_up",
                        "extra",
                    ]
                ),
                name="phase_kind_known",
            ),
            models.CheckConstraint(
                condition=models.Q(labor_hours__gte=0, labour_cost__gte=0),
                name="phase_labour_not_negative",
            ),
        )

    def __str__(self) -> str:
        return f"{self.job}, {self.get_kind_display()}"
