"""What is typed about buying: the range of days, orders and their lines, receipts."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from estimating.selectors.suppliers import stocked_items
from firm.forms.fields import DateField, MoneyField, PlainTextMixin, WholeNumberField
from firm.forms.meanwhile import MeanwhileMixin
from scheduling.forms.goods import (
    CostOfOneField,
    CountField,
    as_counted,
    item_choices,
    unit_of_chosen,
)
from scheduling.models import Receipt
from scheduling.selectors.orders import LineView

Data = Mapping[str, Any] | None
MOST_DAYS = 120


class RangeForm(forms.Form):
    """The days a list is drawn up for."""

    first = DateField(label="From")
    last = DateField(label=_("To"))

    def clean(self) -> dict[str, Any]:
        """Refuse a range that ends before it begins, or of over 120 days, at its end."""
        cleaned: dict[str, Any] = super().clean() or {}
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last:
            if last < first:
                self.add_error("last", ValidationError(_("This is before the first day.")))
            elif (last - first).days >= MOST_DAYS:
                self.add_error(
                    "last",
                    ValidationError(
                        gettext("{days} days are too many: {most} at most.").format(
                            days=(last - first).days + 1, most=MOST_DAYS
                        )
                    ),
                )
        return cleaned


class BuyingForm(RangeForm):
    """The days of the buying list, and whether jobs without a day are on it."""

    with_unplaced = forms.BooleanField(
        label="Also jobs that are not on the calendar yet", required=False
    )


class OrderFromListForm(BuyingForm):
    """Which part of the buying list becomes a draft, and where it is delivered."""

    supplier = WholeNumberField(widget=forms.HiddenInput)
    job = WholeNumberField(label="Deliver to", required=False)


class _LinesForm(forms.Form):
    """A form with fields for each line of an order, named by the field and the line's key."""

    def __init__(self, data: Data = None, *, lines: Iterable[LineView], **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.lines: Sequence[LineView] = list(lines)
        for one in self.lines:
            for name, field in self.fields_of(one).items():
                field.widget.attrs["aria-label"] = f"{field.label}: {one.line.name}"
                self.fields[f"{name}-{one.line.pk}"] = field

    def fields_of(self, one: LineView) -> dict[str, forms.Field]:
        """Return the fields of one line; a form that asks nothing of its lines has none."""
        return {}

    @property
    def rows(self) -> list[tuple[LineView, list[forms.BoundField]]]:
        """Each line with its fields."""
        return [
            (one, [self[f"{name}-{one.line.pk}"] for name in self.fields_of(one)])
            for one in self.lines
        ]

    @property
    def own_fields(self) -> list[forms.BoundField]:
        """The fields that belong to no line."""
        return [self[name] for name in self.base_fields]

    def values_of(self, name: str) -> dict[int, Any]:
        """Return what was typed in one field of each line, by the line's key."""
        return {one.line.pk: self.cleaned_data[f"{name}-{one.line.pk}"] for one in self.lines}


class DraftOrderForm(PlainTextMixin, _LinesForm):
    """A draft: counts and costs of its lines, the day it is needed, a note."""

    needed_by = DateField(label="Needed by", required=False)
    note = forms.CharField(
        label="Note to the supplier",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Printed on the order.",
    )

    def fields_of(self, one: LineView) -> dict[str, forms.Field]:
        """Return count and cost; a count of 0 takes the line off."""
        line = one.line
        return {
            "count": CountField(label="Count", unit=line.unit, is_bought=True, initial=line.count),
            "cost": CostOfOneField(label="Cost of one", unit=line.unit, kept=line.unit_cost),
        }


class AddItemForm(forms.Form):
    """One more item on a draft."""

    item = forms.ChoiceField(label="Item")
    count = CountField(label="Count", min_value=1, is_bought=True)

    def __init__(self, data: Data = None, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.items = stocked_items()
        self.fields["item"].choices = item_choices(self.items)  # type: ignore[attr-defined]
        as_counted(self, "count", unit_of_chosen(self, self.items))


class SendForm(forms.Form):
    """Where an order goes."""

    to = forms.EmailField(
        label="Mail it to",
        required=False,
        help_text="Left empty it is printed and not mailed.",
    )


class MailOrderForm(forms.Form):
    """Where a sent order is mailed once more."""

    to = forms.EmailField(label="Mail it to")


class CancelForm(PlainTextMixin, forms.Form):
    """Why an order is cancelled."""

    reason = forms.CharField(label="Why?", max_length=300)


class PromisesForm(MeanwhileMixin, _LinesForm):
    """For which day the supplier promises each line."""

    def __init__(self, data: Data = None, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.compare()

    def fields_of(self, one: LineView) -> dict[str, forms.Field]:
        """Return the promised day."""
        return {"promise": DateField(label="Promised for", required=False, initial=one.promised_on)}


class ReceiveForm(PlainTextMixin, _LinesForm):
    """What came, by line."""

    received_on = DateField(label="Came on")
    note = forms.CharField(label="Note", required=False, max_length=200)
    extra = MoneyField(
        label="Freight and tax of this delivery, $",
        required=False,
        max_digits=10,
        help_text="On top of the prices. It is shared out over what came, by what it costs.",
    )
    more_is_right = forms.BooleanField(label="More came than was ordered", required=False)

    def __init__(
        self, data: Data = None, *, lines: Iterable[LineView], today: dt.date, **kwargs: Any
    ) -> None:
        super().__init__(data, lines=lines, initial={"received_on": today}, **kwargs)

    def fields_of(self, one: LineView) -> dict[str, forms.Field]:
        """Return what came good, and what came damaged and goes back."""
        return {
            "count": CountField(label="Came", unit=one.line.unit, required=False),
            "damaged": CountField(label="Damaged, sent back", unit=one.line.unit, required=False),
        }


class TakeBackForm(PlainTextMixin, forms.Form):
    """How much of a receipt did not come after all, and why it was written down."""

    count = CountField(label="Good ones that did not come", required=False)
    damaged = CountField(label="Damaged ones that did not come", required=False)
    reason = forms.CharField(label="Why?", max_length=200)

    def __init__(self, data: Data = None, *, receipt: Receipt) -> None:
        super().__init__(data, initial={"count": receipt.count, "damaged": receipt.damaged})
        for name in ("count", "damaged"):
            as_counted(self, name, receipt.line.unit)
        if not receipt.damaged:
            del self.fields["damaged"]
