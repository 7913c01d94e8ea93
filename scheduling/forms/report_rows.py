"""The rows of a day's report: spans of people's time, and posts where rock was met."""

import datetime as dt
from typing import Any, ClassVar

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _

from firm.forms.fields import LengthField, PlainTextMixin, WholeNumberField
from scheduling.services.report_entries import HoursEntry, RockEntry
from scheduling.services.report_posts import LAST_NUMBER

MOST_ROWS = 60
MINUTES_A_DAY = 24 * 60
DEEPEST_IN = 240.0
CLOCKS = ("%H:%M", "%H:%M:%S", "%I:%M %p", "%I:%M%p", "%I %p", "%I%p")
SPAN = ("member", "started", "ended", "break_min", "phase")
NO_MINUTES = _("Type whole minutes, from 0 to 1440.")
NO_CLOCK = _("Type a time of day such as 15:30, up to 23:59.")


class ClockField(forms.TimeField):
    """A time of day."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("input_formats", CLOCKS)
        kwargs.setdefault("error_messages", {"invalid": NO_CLOCK})
        kwargs.setdefault("widget", forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
        super().__init__(**kwargs)


class MinutesField(WholeNumberField):
    """Some minutes of a day."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
        words = {"invalid": NO_MINUTES}
        super().__init__(widget=widget, error_messages=words, **kwargs)
        self.validators += [
            MinValueValidator(0, NO_MINUTES),
            MaxValueValidator(MINUTES_A_DAY, NO_MINUTES),
        ]


class ReportRow(PlainTextMixin, forms.Form):
    """A row that may stay empty; `typed` names what makes it one that counts."""

    use_required_attribute = False
    typed: ClassVar[tuple[str, ...]] = ()

    @property
    def row(self) -> int:
        """Its place on the page."""
        return int(str(self.prefix).rsplit("-", 1)[-1])

    def is_blank(self) -> bool:
        """Say whether nothing was typed that counts."""
        return all(self.cleaned_data.get(name) in (None, "") for name in self.typed)


class HoursRow(ReportRow):
    """One span of one person."""

    typed = ("ended", "break_min")

    pk = WholeNumberField(required=False, widget=forms.HiddenInput)
    member = forms.ChoiceField(label=_("Who"), required=False)
    started = ClockField(label=_("From"), required=False)
    ended = ClockField(label=_("To"), required=False)
    break_min = MinutesField(label=_("Break, min"), required=False)
    phase = forms.ChoiceField(label=_("Work"), required=False)
    is_away = forms.BooleanField(label=_("Not here: leave this line out"), required=False)

    def __init__(
        self,
        *args: Any,
        members: list[tuple[str, str]],
        phases: list[tuple[str, str]],
        day_start: dt.time,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.day_start = day_start
        for name in SPAN:
            self.fields[name].show_hidden_initial = True
        self.fields["member"].choices = [("", _("Choose")), *members]  # type: ignore[attr-defined]
        self.fields["phase"].choices = [  # type: ignore[attr-defined]
            ("", _("Spread over the day's plan")),
            *phases,
        ]

    def complete(self, *, ended: dt.time | None, break_min: int | None) -> None:
        """Take the end of everyone where this row has none, and see that it is whole."""
        values = self.cleaned_data
        if self.errors or values["is_away"] or not self._is_meant(ended):
            return
        if values["ended"] is None and ended is not None and not values["pk"]:
            values["ended"] = ended
            if values["break_min"] is None:
                values["break_min"] = break_min
        if not values["member"]:
            self.add_error("member", _("Choose who worked."))
        if values.get("started") is None:
            self.add_error("started", _("Type when they began."))
        if values.get("ended") is None:
            self.add_error("ended", _("Type when they stopped, or leave the line out."))

    def _is_meant(self, everyone_ended: dt.time | None) -> bool:
        values = self.cleaned_data
        if values["pk"] or not self.is_blank():
            return True
        if not values["member"]:
            return False
        began_otherwise = values["started"] not in (None, self.day_start)
        return everyone_ended is not None or began_otherwise

    def entry(self) -> HoursEntry | None:
        """Return the span, or None for a line that is left out or stands as it was kept."""
        values = self.cleaned_data
        if values["is_away"] or not values["member"] or values["ended"] is None:
            return None
        if values["pk"] and not set(self.changed_data) & set(SPAN):
            return None
        return HoursEntry(
            row=self.row,
            pk=values["pk"],
            member=int(values["member"]),
            started=values["started"],
            ended=values["ended"],
            break_min=values["break_min"] or 0,
            phase=int(values["phase"]) if values["phase"] else None,
        )

    def removed(self) -> int | None:
        """Return the kept row that this line takes away."""
        values = self.cleaned_data
        return values["pk"] if values["is_away"] else None


class RockRow(ReportRow):
    """One post where rock was met; `was` is the post this line was kept for."""

    typed = ("post_number", "depth_in", "minutes", "note")

    was = WholeNumberField(required=False, widget=forms.HiddenInput)
    post_number = WholeNumberField(
        label=_("Post"),
        required=False,
        min_value=1,
        max_value=LAST_NUMBER,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    depth_in = LengthField(label=_("Depth"), required=False, is_short=True, max_in=DEEPEST_IN)
    minutes = MinutesField(label=_("Minutes"), required=False)
    note = forms.CharField(label=_("Note"), required=False, max_length=200)

    def clean(self) -> dict[str, Any] | None:
        """See that a line names its post; one that was emptied takes its rock away."""
        cleaned = super().clean()
        if not self.errors and not self.is_blank() and not self.cleaned_data["post_number"]:
            self.add_error("post_number", _("Type the post's number."))
        return cleaned

    def entry(self) -> RockEntry | None:
        """Return the rock, or None for an empty line."""
        values = self.cleaned_data
        if self.is_blank():
            return None
        return RockEntry(
            row=self.row,
            post_number=values["post_number"],
            depth_in=values["depth_in"],
            minutes=values["minutes"],
            note=values["note"],
        )

    def removed(self) -> int | None:
        """Return the post this line was kept for and no longer names."""
        values = self.cleaned_data
        was: int | None = values["was"]
        return was if was != values["post_number"] else None


HoursRows = forms.formset_factory(
    HoursRow, extra=1, max_num=MOST_ROWS, absolute_max=MOST_ROWS + 1, validate_max=True
)
RockRows = forms.formset_factory(
    RockRow, extra=1, max_num=MOST_ROWS, absolute_max=MOST_ROWS + 1, validate_max=True
)
