"""What the office types to prepare a job: material, the inspection, what the crew is told."""

from collections.abc import Mapping
from typing import Any

from django import forms

from firm.forms.fields import DateField, LengthField, PlainTextMixin
from scheduling.models import FenceJob, JobPhase
from scheduling.selectors.planning import cure_table

Data = Mapping[str, Any] | None
MATERIAL_NAMES = {
    JobPhase.Kind.SET: "Posts and concrete",
    JobPhase.Kind.HANG: "Rails, panels, fabric",
    JobPhase.Kind.GATES: "Gates and hardware",
}
# A string higher than a man, or a foot off the posts, is a slip.
TOP_STRING_IN = 96.0
FAR_STRING_IN = 24.0


class MaterialForm(forms.Form):
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


class InspectionForm(forms.Form):
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


class CrewWordsForm(PlainTextMixin, forms.Form):
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


class PrepareForms:
    """All forms of the page together: they are saved together or not at all."""

    def __init__(self, job: FenceJob, data: Data = None) -> None:
        self.materials = [MaterialForm(data, phase=phase) for phase in job.phases.all()]
        self.inspection = InspectionForm(data, job=job)
        self.crew = CrewWordsForm(data, job=job)

    @property
    def all(self) -> list[forms.Form]:
        """Every form, in the order of the page."""
        return [*self.materials, self.inspection, self.crew]

    def are_valid(self) -> bool:
        """Look at every form, so that every slip is told at once."""
        return all([form.is_valid() for form in self.all])  # noqa: C419 - all are looked at

    def named(self, prefix: str) -> forms.Form:
        """Return a form by its prefix."""
        return next((form for form in self.all if form.prefix == prefix), self.crew)

    @property
    def with_errors(self) -> list[forms.Form]:
        """Return the forms with something to mend."""
        return [form for form in self.all if form.errors]
