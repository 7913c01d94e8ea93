"""What a crew lead types about a day: one page of fields, its rows, and the photos."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils import timezone
from django.utils.datastructures import MultiValueDict
from django.utils.text import capfirst
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from firm.forms.fields import DecimalField
from firm.forms.meanwhile import MeanwhileMixin
from firm.forms.quantities import TemperatureField
from firm.selectors.languages import spoken
from scheduling.engine.wording import short_day_words
from scheduling.forms.report_at_once import NumberListField, NumbersField, PhotoForm
from scheduling.forms.report_rows import ClockField, HoursRows, MinutesField, ReportRow, RockRows
from scheduling.models import Crew, DayReport, FenceJob, HoursWorked, JobPhase, PostRecord
from scheduling.services.report_entries import (
    DayEntry,
    Fault,
    PhaseTicks,
    PostTicks,
    ReportEntry,
)
from scheduling.starter import load_cure_table

LONGEST_TEXT = 2000
MOST_BAGS = Decimal(9999)
# Sent with what the page showed, so that a page that lay open for hours does not write over what
# was changed meanwhile.
KEPT_WORDS = ("bags_used", "pour_time", "air_f", "mix", "remarks", "extra_work", "needed_next")
SMALL_TEXT = {"rows": 2}


class ReportForm(MeanwhileMixin, PhotoForm):
    """The fields of a day's report that stand there once."""

    # Each tick of a post moves it as well, those on this very page.
    counts_as_typed: ClassVar[frozenset[str]] = frozenset({"pour_time"})

    posts = NumbersField(required=False)
    was_set = NumberListField(required=False)
    bags_used = DecimalField(
        label=_("Bags used"),
        required=False,
        min_value=Decimal(0),
        max_value=MOST_BAGS,
        max_digits=5,
        decimal_places=1,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    pour_time = ClockField(
        label=_("Last pour"),
        required=False,
        help_text=_("Left empty: when the last post was ticked."),
    )
    without_posts = forms.BooleanField(
        label=_("Concrete was poured without setting a post"), required=False
    )
    air_f = TemperatureField(
        label=_("Air"),
        required=False,
        least=-40,
        most=130,
        help_text=_(
            "The coldest while it hardens. Unknown: leave it empty, the longest wait counts. "
            "Where the office wrote down the day's low and high, those count instead."
        ),
        widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}),
    )
    mix = forms.ChoiceField(label=_("Mix"), required=False)
    everyone_ended = ClockField(label=_("Everyone stopped at"), required=False)
    everyone_break = MinutesField(label=_("Everyone's break, min"), required=False)
    phases = forms.MultipleChoiceField(
        label=_("Finished for good"), required=False, widget=forms.CheckboxSelectMultiple
    )
    was_finished = NumberListField(required=False)
    remarks = forms.CharField(
        label=_("Remarks"),
        required=False,
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs=SMALL_TEXT),
    )
    extra_work = forms.CharField(
        label=_("Extra work asked for"),
        required=False,
        max_length=LONGEST_TEXT,
        help_text=_("Before it is done, the customer signs for it."),
        widget=forms.Textarea(attrs=SMALL_TEXT),
    )
    needed_next = forms.CharField(
        label=_("Needed next time"),
        required=False,
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs=SMALL_TEXT),
    )

    def __init__(self, *args: Any, phases: Sequence[JobPhase], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        mixes = [(mix.key, capfirst(spoken(mix.name))) for mix in load_cure_table().mixes]
        # Written at once: what was typed is compared with what the page showed.
        self.initial["air_f"] = self.fields["air_f"].prepare_value(self.initial.get("air_f"))
        self.compare(KEPT_WORDS)
        self.fields["mix"].choices = mixes  # type: ignore[attr-defined]
        self.fields["phases"].choices = [  # type: ignore[attr-defined]
            (str(phase.pk), _phase_label(phase)) for phase in phases
        ]

    def day_entry(self) -> DayEntry:
        """Return the concrete and the words, as far as they can be read."""
        values = self.cleaned_data
        names = ("bags_used", "pour_time", "without_posts", "air_f", "mix")
        words = ("remarks", "extra_work", "needed_next")
        typed = {name: values[name] for name in (*names, *words) if name in values}
        changed = frozenset(self.changed_data) & frozenset(typed)
        return DayEntry(**typed, untouched=frozenset(KEPT_WORDS) - changed)

    def post_ticks(self, *, all_set: bool) -> PostTicks:
        """Return what was ticked since the page was drawn, and what no longer is."""
        now, was = (self.cleaned_data.get(name, frozenset()) for name in ("posts", "was_set"))
        return PostTicks(newly_set=now - was, unset=was - now, all_set=all_set)

    def phase_ticks(self) -> PhaseTicks:
        """Return the phases finished and taken up again since the page was drawn."""
        now = frozenset(int(pk) for pk in self.cleaned_data.get("phases", ()))
        was = self.cleaned_data.get("was_finished", frozenset())
        return PhaseTicks(finished=now - was, reopened=was - now)


def _phase_label(phase: JobPhase) -> str:
    day, name = phase.finished_on, spoken(phase.get_kind_display())
    return f"{name}, {spoken(short_day_words(day))}" if day else name


@dataclass(frozen=True, kw_only=True, slots=True)
class MarkedField:
    """A field that needs another look: the part of the page it is, and what it is called."""

    anchor: str
    words: str


class ReportPage:
    """Everything on the page of one day's report, typed or as it is kept."""

    def __init__(
        self,
        job: FenceJob,
        crew: Crew,
        report: DayReport | None,
        *,
        rock: Sequence[PostRecord],
        data: MultiValueDict[str, Any] | None = None,
        files: MultiValueDict[str, UploadedFile[Any]] | None = None,
    ) -> None:
        hours = list(report.hours.all()) if report else []
        members = list(crew.members.all())
        phases = list(job.phases.all())
        self.form = ReportForm(data, files, phases=phases, initial=_initial(job, report, phases))
        kept = {row.member_id for row in hours}
        missing = [one for one in members if one.is_active and one.pk not in kept]
        self.has_all_hours = bool(hours) and not missing
        choices = [(str(one.pk), one.name) for one in members if one.is_active or one.pk in kept]
        row_kwargs = {
            "members": choices,
            "phases": [(str(phase.pk), spoken(phase.get_kind_display())) for phase in phases],
            "day_start": crew.day_start,
            # A line left as it was drawn is looked at as well.
            "empty_permitted": False,
        }
        self.hours = HoursRows(
            data,
            prefix="hours",
            initial=[
                *(_hours_initial(row) for row in hours),
                *({"member": str(one.pk), "started": crew.day_start} for one in missing),
            ],
            form_kwargs=row_kwargs,
        )
        self.rock = RockRows(
            data,
            prefix="rock",
            initial=[_rock_initial(row) for row in rock],
            form_kwargs={"empty_permitted": False},
        )

    def is_valid(self) -> bool:
        """Say whether everything typed can be read; all of it is looked at."""
        parts = [self.form.is_valid(), self.hours.is_valid(), self.rock.is_valid()]
        values = self.form.cleaned_data
        for row in self.hours:
            row.complete(ended=values.get("everyone_ended"), break_min=values.get("everyone_break"))
        return all(parts) and not any(row.errors for row in self.hours)

    def entry(self, *, all_set: bool) -> ReportEntry:
        """Return what was typed as the service takes it, less what can't be read."""
        hours = [row for row in self.hours if not row.errors]
        rock = [row for row in self.rock if not row.errors]
        return ReportEntry(
            day=self.form.day_entry(),
            posts=self.form.post_ticks(all_set=all_set),
            phases=self.form.phase_ticks(),
            hours=tuple(entry for row in hours if (entry := row.entry())),
            hours_removed=frozenset(pk for row in hours if (pk := row.removed())),
            rock=tuple(found for row in rock if (found := row.entry())),
            rock_removed=frozenset(was for row in rock if (was := row.removed())),
        )

    def add_faults(self, faults: Iterable[Fault]) -> None:
        """Put each fault at its field."""
        for fault in faults:
            form, name = self._field(fault.field)
            form.add_error(name, spoken(fault.message))

    def _field(self, field: str) -> tuple[forms.Form, str | None]:
        rows: dict[str, list[ReportRow]] = {"hours": [*self.hours], "rock": [*self.rock]}
        prefix, _, rest = field.partition("-")
        if prefix in rows and rest:
            row, _, name = rest.partition("-")
            return rows[prefix][int(row)], name
        return self.form, field if field in self.form.fields else None

    @property
    def has_rock(self) -> bool:
        """Say whether rock is kept or typed."""
        return any(row[name].value() for row in self.rock for name in row.typed)

    @property
    def marked(self) -> list[MarkedField]:
        """The fields that need another look, from top to bottom."""
        found = [_marked(self.form, name, "") for name in self.form.errors]
        of_rows = (
            (self.hours, gettext("hours, line {number}: ")),
            (self.rock, gettext("rock, line {number}: ")),
        )
        for rows, where in of_rows:
            for row in rows:
                place = where.format(number=row.row + 1)
                found += [_marked(row, name, place) for name in row.errors]
        return found

    @property
    def whole_errors(self) -> list[str]:
        """What is wrong with the rows as a whole."""
        return [*self.hours.non_form_errors(), *self.rock.non_form_errors()]

    @property
    def is_refused(self) -> bool:
        """Say whether something stands in the way of saving."""
        return bool(self.marked or self.whole_errors)


def _marked(form: forms.Form, name: str, where: str) -> MarkedField:
    if name not in form.fields:
        return MarkedField(anchor="", words=where + gettext("the whole line"))
    if name == "posts":
        return MarkedField(anchor="posts", words=gettext("posts set"))
    field = form[name]
    return MarkedField(
        anchor=field.id_for_label or str(field.auto_id), words=f"{where}{field.label}"
    )


def _initial(job: FenceJob, report: DayReport | None, phases: Sequence[JobPhase]) -> dict[str, Any]:
    finished = [str(phase.pk) for phase in phases if phase.finished_on]
    initial: dict[str, Any] = {"mix": job.mix, "phases": finished}
    if report is None:
        return initial
    poured_at, bags = report.poured_at, report.bags_used
    return initial | {
        "bags_used": None if bags is None else f"{bags.normalize():f}",
        "pour_time": timezone.localtime(poured_at).time() if poured_at else None,
        "air_f": report.air_f,
        "mix": report.mix or job.mix,
        "remarks": report.remarks,
        "extra_work": report.extra_work,
        "needed_next": report.needed_next,
    }


def _hours_initial(row: HoursWorked) -> dict[str, Any]:
    return {
        "pk": row.pk,
        "member": str(row.member_id),
        "started": row.started,
        "ended": row.ended,
        "break_min": row.break_min,
        "phase": str(row.phase_id or ""),
    }


def _rock_initial(row: PostRecord) -> dict[str, Any]:
    return {
        "was": row.number,
        "post_number": row.number,
        "depth_in": row.rock_depth_in,
        "minutes": row.rock_min,
        "note": row.note,
    }
