"""Measured sites as versioned documents, and the estimates priced from them."""

from django.core.validators import MinValueValidator
from django.db import models

from firm.models import Customer, JobSite, User
from firm.models.money import FineCostField


class SiteMeasurement(models.Model):
    """One version of a site's document; a change adds a version, none is ever altered."""

    site = models.ForeignKey(JobSite, on_delete=models.PROTECT, related_name="measurements")
    version = models.PositiveIntegerField()
    document = models.JSONField()
    saved_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    saved_at = models.DateTimeField()

    class Meta:
        ordering = (
            "site",
            "-version",
        )
        constraints = (
            models.UniqueConstraint(fields=["site", "version"], name="site_version_once"),
        )

    def __str__(self) -> str:
        return f"{self.site}, version {self.version}"


class Estimate(models.Model):
    """A priced reading of a site, or a repair without one; frozen once a proposal is sent.

    `catalog` is the whole catalog data it was priced with and `result` what the engine returned,
    so that an old estimate reads the same whatever the price book says today.
    """

    class State(models.TextChoices):
        OPEN = "open", "Open"
        FROZEN = "frozen", "Frozen"
        REPLACED = "replaced", "Replaced by a revision"

    number = models.PositiveIntegerField()
    revision = models.PositiveSmallIntegerField(default=0)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="estimates")
    site = models.ForeignKey(
        JobSite, on_delete=models.PROTECT, null=True, blank=True, related_name="estimates"
    )
    measurement = models.ForeignKey(
        SiteMeasurement, on_delete=models.PROTECT, null=True, blank=True, related_name="estimates"
    )
    title = models.CharField(max_length=120)
    notes = models.TextField(blank=True)
    state = models.CharField(max_length=8, choices=State, default=State.OPEN)
    document = models.JSONField(default=dict)
    catalog = models.JSONField(default=dict)
    result = models.JSONField(default=dict)
    price_before_tax = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    sales_tax = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    price = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    margin_pct = models.DecimalField(max_digits=7, decimal_places=2, default=0)
    stop_findings = models.PositiveSmallIntegerField(default=0)
    created_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    created_at = models.DateTimeField()
    priced_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = (
            "-number",
            "-revision",
        )
        constraints = (
            models.UniqueConstraint(
                fields=["number", "revision"], name="estimate_number_and_revision_once"
            ),
        )
        indexes = (models.Index(fields=["state", "created_at"]),)

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """The number as people say it: 1001, or 1001-2 for its second revision."""
        return f"{self.number}-{self.revision}" if self.revision else str(self.number)


class EstimateLine(models.Model):
    """A line typed by the office: a cost to be marked up, or a price the customer pays."""

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="typed_lines")
    position = models.PositiveSmallIntegerField(default=0)
    description = models.CharField(max_length=200)
    quantity = models.DecimalField(
        max_digits=10, decimal_places=3, default=1, validators=[MinValueValidator(0)]
    )
    unit = models.CharField(max_length=20, default="each")
    unit_cost = models.DecimalField(
        max_digits=12, decimal_places=4, default=0, validators=[MinValueValidator(0)]
    )
    price = models.DecimalField(
        max_digits=12, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    labor_hours = models.DecimalField(
        max_digits=7, decimal_places=2, default=0, validators=[MinValueValidator(0)]
    )
    is_optional = models.BooleanField(default=False)

    class Meta:
        ordering = (
            "position",
            "pk",
        )
        constraints = (
            models.CheckConstraint(
                condition=models.Q(quantity__gte=0, unit_cost__gte=0, labor_hours__gte=0),
                name="typed_line_not_negative",
            ),
        )

    def __str__(self) -> str:
        return self.description


class EstimateOverride(models.Model):
    """A figure set by hand, and why; `target` as in the engine's Override."""

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="overrides")
    target = models.CharField(max_length=100)
    value = FineCostField(validators=[MinValueValidator(0)])
    reason = models.CharField(max_length=200)
    set_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True)
    set_at = models.DateTimeField()

    class Meta:
        ordering = ("target",)
        constraints = (
            models.UniqueConstraint(fields=["estimate", "target"], name="one_override_per_figure"),
            models.CheckConstraint(condition=~models.Q(reason=""), name="override_has_a_reason"),
        )

    def __str__(self) -> str:
        return f"{self.target}: {self.value}"
