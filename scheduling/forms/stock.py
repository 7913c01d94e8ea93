"""What is typed about the yard: what is loaded, what comes back, what was counted."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext

from estimating.selectors.suppliers import stocked_items
from firm.forms.fields import PlainTextMixin, WholeNumberField
from firm.measure import sold
from firm.selectors.languages import spoken
from firm.selectors.profile import firm_units
from scheduling.forms.goods import CountField, as_counted, item_choices, unit_of_chosen
from scheduling.selectors.load_list import JobLoad, LoadList, LoadRow
from scheduling.selectors.stock import Leftover
from scheduling.services.stock import StockItem

Data = Mapping[str, Any] | None
RowFields = Sequence[forms.BoundField]


class LoadForm(forms.Form):
    """A tick and a count for each item that lies in the yard for a job."""

    def __init__(self, data: Data = None, *, loads: LoadList) -> None:
        super().__init__(data)
        self.loads = loads
        for job, row in self._to_load():
            name, words = self._name(job, row.item), f"{spoken(row.name)}, {spoken(job.job.said)}"
            loaded = gettext("Loaded: {what}").format(what=words)
            tick = forms.BooleanField(label=loaded, required=False)
            tick.widget.attrs["aria-label"] = loaded
            count = CountField(
                label=gettext("Count"), unit=row.unit, initial=row.to_load, required=False
            )
            how_many = gettext("How many: {what}").format(what=words)
            count.widget.attrs["aria-label"] = how_many
            self.fields[f"tick-{name}"] = tick
            self.fields[f"count-{name}"] = count
            # What stood there when the page was drawn tells whether someone loaded meanwhile.
            self.fields[f"seen-{name}"] = WholeNumberField(
                initial=row.loaded, widget=forms.HiddenInput, required=False
            )

    def _to_load(self) -> Iterable[tuple[JobLoad, LoadRow]]:
        for job in self.loads.jobs:
            for row in job.rows:
                if not row.is_by_hand:
                    yield job, row

    @staticmethod
    def _name(job: JobLoad, item: str) -> str:
        return f"{job.job.pk}-{item}"

    @property
    def jobs(self) -> list[tuple[JobLoad, list[tuple[LoadRow, RowFields]]]]:
        """Each job with its rows and their fields: tick, count, what was seen."""
        return [
            (job, [(row, self._fields_of(job, row)) for row in job.rows]) for job in self.loads.jobs
        ]

    def _fields_of(self, job: JobLoad, row: LoadRow) -> RowFields:
        if row.is_by_hand:
            return ()
        name = self._name(job, row.item)
        return [self[f"{what}-{name}"] for what in ("tick", "count", "seen")]

    def ticked(self) -> list[tuple[JobLoad, dict[StockItem, int], dict[str, int]]]:
        """Return what was ticked of each job: the counts, and what was loaded when it was drawn."""
        found = []
        for job in self.loads.jobs:
            counts, seen = {}, {}
            for row in job.rows:
                name = self._name(job, row.item)
                if self.cleaned_data.get(f"tick-{name}"):
                    item = StockItem(item=row.item, name=row.name, unit=row.unit)
                    counts[item] = self.cleaned_data[f"count-{name}"] or 0
                    seen[row.item] = self.cleaned_data[f"seen-{name}"] or 0
            if counts:
                found.append((job, counts, seen))
        return found


class LeftoversForm(forms.Form):
    """How many of each item come back from a job."""

    def __init__(self, data: Data = None, *, items: Sequence[Leftover]) -> None:
        super().__init__(data)
        self.items, units = items, firm_units()
        for one in items:
            self.fields[one.item] = CountField(
                label=spoken(one.name),
                unit=one.unit,
                required=False,
                help_text=gettext("{unit}, {most} at most").format(
                    unit=spoken(sold.unit_words(one.unit, units)),
                    most=sold.count_shown(Decimal(one.most), one.unit, units),
                ),
            )

    def counts(self) -> dict[StockItem, int]:
        """Return what comes back."""
        return {
            StockItem(item=one.item, name=one.name, unit=one.unit): self.cleaned_data[one.item]
            for one in self.items
            if self.cleaned_data[one.item]
        }


class CountForm(PlainTextMixin, forms.Form):
    """What a person counted of an item in the yard, and why it differs."""

    item = forms.ChoiceField(label="Item")
    counted = CountField(label="Lie there now")
    reason = forms.CharField(label="Why does it differ?", max_length=200)

    def __init__(self, data: Data = None, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.items = stocked_items()
        self.fields["item"].choices = item_choices(self.items)  # type: ignore[attr-defined]
        as_counted(self, "counted", unit_of_chosen(self, self.items))

    def stock_item(self) -> StockItem:
        """Return the item that was counted."""
        key = self.cleaned_data["item"]
        name, unit = self.items[key]
        return StockItem(item=key, name=name, unit=unit)
