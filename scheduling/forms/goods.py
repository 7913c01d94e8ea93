"""Fields that count goods and cost them, by the foot or yard as kept, as the firm measures."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from firm.forms.fields import WRITTEN_NUMBER, MoneyField, WholeNumberField
from firm.measure import sold
from firm.selectors.profile import firm_units
from scheduling.services.orders import MOST_OF_ONE, most_of_one

_WITH_UNIT = re.compile(rf"(?P<number>{WRITTEN_NUMBER.pattern})\s*(?P<unit>\D.*)?", re.I | re.A)
TOO_MANY = Decimal(MOST_OF_ONE * 10)


class CountField(WholeNumberField):
    """A count of whole purchase units; never below 0.

    What is kept by the foot, the centimetre or the cubic yard is typed and shown by the metre in
    a metric firm. A count is kept whole: that of the nearest length, or where `is_bought` the next
    one that covers what was typed. What is shown is read back as the same count.
    """

    def __init__(self, *, unit: str = "", is_bought: bool = False, **kwargs: Any) -> None:
        kwargs.setdefault("min_value", 0)
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off"}))
        super().__init__(**kwargs)
        self.validators.append(self._refuse_too_many)
        self.is_bought = is_bought
        self.set_unit(unit)
        self.error_messages["invalid"] = gettext_lazy("Type a whole number.")

    def set_unit(self, unit: str) -> None:
        """Say what is counted, before anything is typed or shown."""
        self.unit = unit
        self.widget.attrs["inputmode"] = "decimal" if self.is_by_metre else "numeric"

    @property
    def is_by_metre(self) -> bool:
        """Say whether it is typed in another unit than it is kept in."""
        return bool(self.unit) and sold.metric_in_one(self.unit, firm_units()) != 1

    def prepare_value(self, value: Any) -> Any:
        """Show a count as the firm measures; leave what was typed as it was typed."""
        if isinstance(value, int) and self.is_by_metre:
            return f"{sold.count_shown(Decimal(value), self.unit, firm_units())}"
        return value

    def to_python(self, value: Any) -> Any:
        """Return the whole purchase units that a text names."""
        text = value.strip() if isinstance(value, str) else ""
        if not text or not self.is_by_metre:
            return super().to_python(value)
        typed, units = _WITH_UNIT.fullmatch(text), firm_units()
        own_unit = sold.unit_words(self.unit, units)
        unit = (typed["unit"] or own_unit) if typed else ""
        if typed and unit == self.unit:
            return super().to_python(typed["number"])
        kept_unit = sold.kept_unit(unit, units)
        if not typed or kept_unit == unit or kept_unit != sold.kept_unit(own_unit, units):
            raise ValidationError(
                _("Type a figure such as {figure}.").format(figure=f"1.22 {own_unit}"),
                code="invalid",
            )
        keep = sold.count_kept if self.is_bought else sold.count_nearest
        length = max(-TOO_MANY, min(TOO_MANY, Decimal(typed["number"])))
        return int(keep(length, self.unit, units))

    def run_validators(self, value: Any) -> None:
        """Refuse a count that can't be, with the limit as the firm measures."""
        if self.is_by_metre and value is not None and not 0 <= value <= most_of_one(self.unit):
            most = sold.count_words(most_of_one(self.unit), self.unit, firm_units())
            raise ValidationError(
                _("This must be from {least} to {most}.").format(least=0, most=most), code="range"
            )
        super().run_validators(value)

    def _refuse_too_many(self, value: int) -> None:
        MaxValueValidator(most_of_one(self.unit))(value)


class CostOfOneField(MoneyField):
    """What one purchase unit costs, typed and shown for a metre of what is kept by the foot.

    What is sent back as it was shown stays to the last digit.
    """

    def __init__(self, *, unit: str, kept: Decimal, **kwargs: Any) -> None:
        self.unit, self.kept = unit, kept
        cost = sold.cost_shown(kept, unit, firm_units())
        cents = cost.quantize(Decimal("0.01"))
        self.shown = cents if cents == cost else cost.quantize(sold.SHOWN_PLACES)
        super().__init__(decimal_places=4, initial=self.shown, **kwargs)

    def clean(self, value: Any) -> Any:
        """Return what one kept unit costs."""
        cost = super().clean(value)
        if cost is None or cost == self.shown:
            return cost if cost is None else self.kept
        return sold.cost_kept(cost, self.unit, firm_units())


Items = Mapping[str, tuple[str, str]]  # short name to name and purchase unit


def as_counted(form: forms.BaseForm, name: str, unit: str) -> None:
    """Say what a form's count is one of."""
    cast(CountField, form.fields[name]).set_unit(unit)


def item_choices(items: Items) -> list[tuple[str, str]]:
    """Return the items to choose from, each with what it is counted in."""
    named = [
        (key, f"{name} ({sold.unit_words(unit, firm_units())})")
        for key, (name, unit) in items.items()
    ]
    return [("", "Choose"), *named]


def unit_of_chosen(form: forms.BaseForm, items: Items) -> str:
    """Return the purchase unit of the item that is chosen in a form, before it is cleaned."""
    return items.get(str(form["item"].value() or ""), ("", ""))[1]
