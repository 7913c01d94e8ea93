"""Forms that put a phase of a job on a day, and move it."""

from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.db.models import Q

from firm.forms.fields import DateField, DecimalField, PlainTextMixin
from firm.forms.meanwhile import MeanwhileMixin
from firm.forms.quantities import TemperatureField
from scheduling.forms.crews import TimeField
from scheduling.models import Crew, CrewDay, FenceJob, JobPhase


class CrewDayForm(PlainTextMixin, MeanwhileMixin, forms.Form):
    """Where and when a block of work stands."""

    # What the page shows of a block that stands: another may move it meanwhile.
    shown: ClassVar[tuple[str, ...]] = ("crew", "date", "hours", "start", "air_f", "note")

    crew = forms.ModelChoiceField(queryset=Crew.objects.none(), empty_label=None)
    date = DateField(label="Day")
    hours = DecimalField(
        label="Hours of the day",
        min_value=Decimal("0.25"),
        max_value=Decimal(24),
        max_digits=4,
        decimal_places=2,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
        help_text="Hours on the clock, not hours of people.",
    )
    start = TimeField(
        label="Begins at",
        required=False,
        help_text="Empty: after the crew's work before it, or when its day begins.",
    )
    air_f = TemperatureField(
        label="Air temperature",
        required=False,
        least=-40,
        most=130,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
        help_text="The lowest expected while the concrete hardens. Empty: the longest wait counts.",
    )
    note = forms.CharField(max_length=200, required=False, help_text="For the crew.")
    # Asked for where a rule stands against the place, and of the owner alone.
    override_note = forms.CharField(
        label="Why all the same", max_length=300, required=False, help_text="An override needs it."
    )

    def __init__(self, *args: Any, kind: str, crew: Crew | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = Q(is_active=True) | Q(pk=crew.pk if crew else None)
        self.fields["crew"].queryset = Crew.objects.filter(known)  # type: ignore[attr-defined]
        if kind != JobPhase.Kind.SET:
            self.fields["air_f"].widget = forms.HiddenInput()
        self.compare(self.shown)

    @property
    def place_fields(self) -> list[forms.BoundField]:
        """Return what the form asks first."""
        return [field for field in self if field.name != "override_note"]

    @classmethod
    def initial_of(cls, block: CrewDay) -> dict[str, Any]:
        """Return what the form shows of a block at first."""
        return {name: getattr(block, name) for name in cls.shown}


class NewCrewDayForm(CrewDayForm):
    """A further block for a job: its phase as well."""

    shown = ()
    phase = forms.ModelChoiceField(queryset=JobPhase.objects.none(), empty_label=None)
    field_order = ("phase", "crew", "date", "hours", "start", "air_f", "note")

    def __init__(self, *args: Any, job: FenceJob, **kwargs: Any) -> None:
        # Any phase may be chosen, so the temperature is always asked for.
        super().__init__(*args, kind=JobPhase.Kind.SET, **kwargs)
        phases = job.phases.filter(finished_on=None)
        self.fields["phase"].queryset = phases  # type: ignore[attr-defined]
        self.fields["air_f"].label = "Air temperature when posts are set"


class MoveForm(forms.Form):
    """Another day, and perhaps another crew, for a block."""

    date = DateField(label="Day")
    crew = forms.ModelChoiceField(queryset=Crew.objects.filter(is_active=True), required=False)
