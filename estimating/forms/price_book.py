"""Forms for the price book, production rates and fence systems."""

import datetime as dt
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from estimating.engine.reading_catalog import (
    LEAST_PACK,
    LEAST_YIELD_FT3,
    MOST_PACK,
    MOST_SWELL_PCT,
    MOST_YIELD_FT3,
)
from estimating.forms.by_length import SoldByLengthMixin
from estimating.models import PriceItem
from estimating.selectors.rates import OF_MEASURES, inches_in
from estimating.selectors.suppliers import suppliers_for
from firm.forms.fields import (
    DateField,
    LengthField,
    MoneyField,
    NumberField,
    PercentField,
    PlainTextMixin,
)
from firm.forms.quantities import MeasuredField
from firm.measure import loads
from firm.measure.written import METRIC
from firm.selectors.profile import firm_units

UNIT_HELP = {
    "h": "Labour hours for one.",
    "times": "The hours are multiplied by it; 1 changes nothing.",
    "%": "Per cent.",
    "people": "People in a crew.",
}
LONGEST_LIMIT_IN = 120_000.0
KEY_HELP = "Letters, digits, - and _. Fence systems and files call it by this; it stays."
BY_LENGTH = ("unit", "purchase_unit", "unit_cost", "pack")
METRIC_HELP = {
    "pack": "25 for a roll of 25 m counted in m.",
    "purchase_unit": "each, box, roll, bag, day, m ...",
}


def _shortest(value: float | Decimal) -> float | Decimal:
    """Return a number as people write it: 12.00 and not 12.0000, 100 and not 100.0."""
    if isinstance(value, Decimal):
        cents = value.quantize(Decimal("0.01"))
        return cents if cents == value else value
    return int(value) if value.is_integer() else value


class PriceItemForm(SoldByLengthMixin, PlainTextMixin, forms.ModelForm[PriceItem]):
    """One row of the price book."""

    unit_cost = MoneyField(
        label="Price of a purchase unit", decimal_places=4, help_text="Dollars, without tax."
    )
    pack = NumberField(
        label="Units in a purchase unit",
        initial=1,
        min_value=LEAST_PACK,
        max_value=MOST_PACK,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
        help_text="50 for a roll of 50 ft counted in ft.",
    )
    yield_ft3 = MeasuredField(
        measure=loads.VOLUME,
        label="Concrete from a bag ({unit})",
        required=False,
        least=LEAST_YIELD_FT3,
        most=MOST_YIELD_FT3,
        help_text="Bags of concrete only, from the label.",
    )
    waste_pct = PercentField(
        label="Waste", help_text="Per cent bought on top.", max_value=Decimal(100)
    )
    stock_length_in = LengthField(
        label="Length of one piece",
        required=False,
        max_in=100_000,
        help_text="Of what is cut from stock, such as 16 ft; of a coil or roll, all of it.",
        metric_help_text="Of what is cut from stock, such as 4.88 m; of a coil or roll, all of it.",
    )
    checked_on = DateField(
        label="Price checked on",
        required=False,
        help_text="The day someone saw this price on a list, a bill or at the counter.",
    )

    class Meta:
        model = PriceItem
        fields = (
            "name",
            "key",
            "kind",
            "unit_cost",
            "purchase_unit",
            "pack",
            "unit",
            "waste_pct",
            "yield_ft3",
            "stock_length_in",
            "supplier",
            "part_number",
            "checked_on",
            "is_active",
        )
        labels: ClassVar = {
            "key": "Short name",
            "purchase_unit": "Bought by the",
            "unit": "Counted in",
            "part_number": "Supplier's number",
            "supplier": "Bought from",
            "is_active": "In use",
        }
        help_texts: ClassVar = {
            "key": KEY_HELP,
            "purchase_unit": "each, box, roll, bag, day ...",
        }

    def __init__(self, *args: Any, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        # Nothing may go by another name once files and systems call it.
        self.fields["key"].disabled = self.instance.pk is not None
        self.fields["waste_pct"].initial = 0
        suppliers = self.fields["supplier"]
        suppliers.queryset = suppliers_for(self.instance)  # type: ignore[attr-defined]
        suppliers.empty_label = "No supplier yet"  # type: ignore[attr-defined]
        row = self.instance
        self.show_by_length({name: getattr(row, name) for name in BY_LENGTH} if row.pk else {})
        if firm_units() == METRIC:
            for name, words in METRIC_HELP.items():
                self.fields[name].help_text = words
        for name, value in self.initial.items():
            if isinstance(value, float | Decimal):
                self.initial[name] = _shortest(value)

    def clean_waste_pct(self) -> float:
        """Return the percentage as the number the row holds."""
        return float(self.cleaned_data["waste_pct"])

    def clean_checked_on(self) -> dt.date | None:
        """Refuse a day that has not come."""
        day: dt.date | None = self.cleaned_data["checked_on"]
        if day and day > self.today:
            raise ValidationError("This day has not come yet.")
        return day


class RateForm(forms.Form):
    """A production rate, in its unit, and the day from which it holds."""

    effective_from = DateField(
        label="Holds from",
        help_text="Today or later. Estimates priced from this day on use it; others stay.",
    )

    def __init__(self, *args: Any, unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.inches = inches_in(unit)
        if self.inches:
            is_short = unit == "in"
            length = LengthField(label="New value", is_short=is_short, max_in=LONGEST_LIMIT_IN)
            self.fields["value"] = length
            if self.initial.get("value") is not None:
                self.initial["value"] *= self.inches
        elif unit in OF_MEASURES:
            measure = OF_MEASURES[unit]
            of_what = measure.unit(firm_units()).removeprefix("h a ")
            self.fields["value"] = MeasuredField(
                measure=measure,
                label="New value",
                least=0,
                most=1000,
                help_text=f"Labour hours for one {of_what}.",
            )
        else:
            self.fields["value"] = NumberField(
                label="New value",
                min_value=1 if unit == "people" else 0,
                max_value=MOST_SWELL_PCT if unit == "%" else 1000,
                widget=forms.TextInput(attrs={"inputmode": "decimal"}),
                help_text=UNIT_HELP[unit],
            )
        self.order_fields(["value", "effective_from"])

    def clean_value(self) -> float:
        """Return the value in the rate's own unit."""
        value: float = self.cleaned_data["value"]
        return value / self.inches if self.inches else value
