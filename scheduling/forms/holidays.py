"""On which holidays of a year the firm works."""

import datetime as dt
from collections.abc import Collection, Mapping
from typing import Any

from django import forms

from scheduling.selectors.holidays import FirmHoliday


class HolidaysForm(forms.Form):
    """A box for each holiday of a year."""

    worked = forms.TypedMultipleChoiceField(
        label="Crews work on",
        required=False,
        coerce=dt.date.fromisoformat,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(
        self, data: Mapping[str, Any] | None, *, holidays: Collection[FirmHoliday]
    ) -> None:
        worked = [one.date.isoformat() for one in holidays if one.is_worked]
        super().__init__(data, initial={"worked": worked})
        self.fields["worked"].choices = [  # type: ignore[attr-defined]
            (one.date.isoformat(), f"{one.date:%a %b} {one.date.day}: {one.name}")
            for one in holidays
        ]
