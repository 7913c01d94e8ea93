"""What the office types to prepare a job: material, the inspection, what the crew is told."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q

from firm.forms.fields import LIKELY_YEARS, DateField, LengthField, PlainTextMixin
from firm.forms.meanwhile import MeanwhileMixin
from firm.measure.loads import in_units
from firm.selectors.profile import firm_units
from scheduling.models import FenceJob, JobDates, JobPhase
from scheduling.selectors.planning import cure_table
from scheduling.services.job_details import WAITS_FOR_ITSELF

Data = Mapping[str, Any] | None
MATERIAL_NAMES = {
    JobPhase.Kind.SET: "Posts and concrete",
    JobPhase.Kind.HANG: "Rails, panels, fabric",
    JobPhase.Kind.GATES: "Gates and hardware",
}
# A string higher than a man, or a foot off the posts, is a slip.
TOP_STRING_IN = 96.0
FAR_STRING_IN = 24.0
MOST_CLOSED_DAYS = 92


class MaterialForm(MeanwhileMixin, forms.Form):
    """The material of one phase."""

    is_needed = forms.BooleanField(label="Must be here before the crew goes out", required=False)
    promised_on = DateField(label="Promised for", required=False)
    received_on = DateField(label="Came on", required=False)

    def __init__(self, data: Data, *, phase: JobPhase) -> None:
        initial = {
            "is_needed": phase.needs_material,
            "promised_on": phase.material_promised_on,
            "received_on": phase.material_received_on,
        }
        super().__init__(data, prefix=f"phase-{phase.pk}", initial=initial)
        self.phase = phase
        kind = JobPhase.Kind(phase.kind)
        self.title = MATERIAL_NAMES.get(kind, phase.get_kind_display())


class InspectionForm(MeanwhileMixin, forms.Form):
    """The inspection between hole and concrete."""

    is_needed = forms.BooleanField(
        label="Holes are inspected before they are filled", required=False
    )
    booked_on = DateField(label="Booked for", required=False)
    passed_on = DateField(label="Passed on", required=False)

    def __init__(self, data: Data, *, job: FenceJob) -> None:
        initial = {
            "is_needed": job.inspection_before_pour,
            "booked_on": job.inspection_booked_on,
            "passed_on": job.inspection_passed_on,
        }
        super().__init__(data, prefix="inspection", initial=initial)


class DatesForm(PlainTextMixin, MeanwhileMixin, forms.Form):
    """The customer's days, and the job that comes first."""

    promised_on = DateField(
        label="Promised to be done on",
        required=False,
        help_text="The promise is broken when the last phase ends later.",
    )
    wanted_by = DateField(
        label="Wanted by", required=False, help_text="A deadline, such as a pool's filling."
    )
    not_before = DateField(label="Nobody there before", required=False)
    closed_days = forms.CharField(
        label="Days on which nobody is wanted there",
        required=False,
        max_length=600,
        help_text="Such as 2026-06-19, 2026-06-22 to 2026-06-24.",
    )
    after_job = forms.ModelChoiceField(
        label="Begins after this job is finished",
        queryset=FenceJob.objects.none(),
        required=False,
        empty_label="No other job",
    )

    def __init__(self, data: Data, *, job: FenceJob) -> None:
        row = JobDates.objects.filter(job=job).first() or JobDates(job=job)
        initial = {name: getattr(row, name) for name in self.base_fields}
        initial["closed_days"] = ", ".join(row.closed_days)
        initial["after_job"] = row.after_job_id
        super().__init__(data, prefix="dates", initial=initial)
        open_jobs = FenceJob.objects.filter(
            Q(state=FenceJob.State.TO_DO) | Q(pk=row.after_job_id)
        ).exclude(pk=job.pk)
        if data and data.get(self.add_prefix("after_job")) == str(job.pk):
            self.fields["after_job"].error_messages["invalid_choice"] = WAITS_FOR_ITSELF
        self.fields["after_job"].queryset = open_jobs.order_by("-number")  # type: ignore[attr-defined]

    def clean_closed_days(self) -> list[str]:
        """Return the days as they are kept, in their order."""
        days: set[dt.date] = set()
        for part in self.cleaned_data["closed_days"].split(","):
            if part.strip():
                days |= _days_in(part.strip())
        return [day.isoformat() for day in sorted(days)]


def _days_in(text: str) -> set[dt.date]:
    """Return the day a text names, or those from one to another."""
    first_text, _, last_text = text.partition(" to ")
    try:
        first = dt.date.fromisoformat(first_text.strip())
        last = dt.date.fromisoformat(last_text.strip()) if last_text else first
    except ValueError as error:
        raise ValidationError(
            f"'{text}' is no day: type 2026-06-19, or 2026-06-22 to 2026-06-24.", code="day"
        ) from error
    count = (last - first).days + 1
    if not 0 < count <= MOST_CLOSED_DAYS or first.year not in LIKELY_YEARS:
        raise ValidationError(
            f"'{text}' can't be right: the first day comes first, up to {MOST_CLOSED_DAYS} days.",
            code="days",
        )
    return {first + dt.timedelta(days=number) for number in range(count)}


class CrewWordsForm(PlainTextMixin, MeanwhileMixin, forms.Form):
    """What the crew is told before it goes out."""

    crew_note = forms.CharField(
        label="Note for the crew",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="It stands on every day sheet of this job.",
    )
    mix = forms.ChoiceField(
        label="Concrete mix", help_text="How long posts wait follows from it. The bag rules."
    )
    is_covered_against_frost = forms.BooleanField(
        label="The posts are covered against frost",
        required=False,
        help_text="In every night that may freeze until the concrete has 500 psi. Without it "
        "nothing is set where frost is expected.",
    )
    string_side = forms.ChoiceField(
        label="String on the",
        choices=FenceJob.Side,
    )
    string_offset_in = LengthField(
        label="String off the posts' faces",
        is_short=True,
        max_in=FAR_STRING_IN,
        help_text="So that no post pushes it: 1/4 in.",
        metric_help_text="So that no post pushes it: 6 mm.",
    )
    string_height_in = LengthField(
        label="String over the ground",
        is_short=True,
        max_in=TOP_STRING_IN,
        help_text="At both ends of each straight stretch.",
    )

    def __init__(self, data: Data, *, job: FenceJob) -> None:
        initial = {name: getattr(job, name) for name in self.base_fields}
        super().__init__(data, prefix="crew", initial=initial)
        known = [(mix.key, mix.name) for mix in cure_table().mixes]
        self.fields["mix"].choices = known  # type: ignore[attr-defined]
        covered = self.fields["is_covered_against_frost"]
        covered.help_text = in_units(str(covered.help_text), firm_units())


class PrepareForms:
    """All forms of the page together: they are saved together or not at all."""

    def __init__(self, job: FenceJob, data: Data = None) -> None:
        self.materials = [MaterialForm(data, phase=phase) for phase in job.phases.all()]
        self.inspection = InspectionForm(data, job=job)
        self.dates = DatesForm(data, job=job)
        self.crew = CrewWordsForm(data, job=job)
        for form in self.all:
            form.compare()

    @property
    def all(self) -> list[MeanwhileMixin]:
        """Every form, in the order of the page."""
        return [*self.materials, self.inspection, self.dates, self.crew]

    def are_valid(self) -> bool:
        """Look at every form, so that every slip is told at once."""
        return all([form.is_valid() for form in self.all])  # noqa: C419 - all are looked at

    def named(self, prefix: str) -> MeanwhileMixin:
        """Return a form by its prefix."""
        return next((form for form in self.all if form.prefix == prefix), self.crew)

    @property
    def with_errors(self) -> list[MeanwhileMixin]:
        """Return the forms with something to mend."""
        return [form for form in self.all if form.errors]
