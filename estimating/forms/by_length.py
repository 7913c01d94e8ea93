"""Fields of goods sold by the foot or yard, which a metric firm types by the metre."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from estimating.engine.reading_catalog import LEAST_PACK, MOST_PACK
from firm.measure import sold
from firm.measure.loads import plain_number
from firm.selectors.profile import firm_units

UNITS = ("unit", "purchase_unit")


class SoldByLengthMixin(forms.BaseForm):
    """Shows units, price and pack of a row as the firm measures; what comes back as shown stays.

    What is newly bought by the metre is kept in centimetres; what was kept by the foot stays so,
    since goods and orders are counted in it.

    In which unit a price or a pack was typed is said by the units typed beside it.
    """

    kept: Mapping[str, Any]

    def show_by_length(self, kept: Mapping[str, Any]) -> None:
        """Put into the fields what is kept, as the firm measures."""
        self.kept, units = kept, firm_units()
        for name in UNITS:
            if name in kept:
                self.initial[name] = sold.unit_words(kept[name], units)
        if "unit_cost" in kept:
            self.initial["unit_cost"] = sold.cost_shown(
                kept["unit_cost"], kept["purchase_unit"], units
            )
            one = self._metric_in_pack(kept["unit"], kept["purchase_unit"])
            if one != 1:
                self.initial["pack"] = float(plain_number(kept["pack"] * one, 4))

    def clean(self) -> dict[str, Any]:
        """Turn what was typed by the metre into what is kept by the foot or centimetre."""
        cleaned: dict[str, Any] = super().clean() or {}
        units = firm_units()
        if any(cleaned.get(name) is None for name in (*UNITS, "unit_cost", "pack")):
            return cleaned
        by_metre = {name: self._is_metric(name, cleaned[name]) for name in UNITS}
        for name in UNITS:
            cleaned[name] = self._kept_unit(name, cleaned[name])
        is_as_it_was = all(cleaned[name] == self.kept.get(name) for name in UNITS)
        if is_as_it_was and "unit_cost" not in self.changed_data:
            cleaned["unit_cost"] = self.kept["unit_cost"]
        elif by_metre["purchase_unit"]:
            cleaned["unit_cost"] = sold.cost_kept(
                cleaned["unit_cost"], cleaned["purchase_unit"], units
            )
        if is_as_it_was and "pack" not in self.changed_data:
            cleaned["pack"] = self.kept["pack"]
        else:
            cleaned["pack"] /= self._metric_in_pack(
                cleaned["unit"] if by_metre["unit"] else "",
                cleaned["purchase_unit"] if by_metre["purchase_unit"] else "",
            )
        if not LEAST_PACK <= cleaned["pack"] <= MOST_PACK:
            self.add_error("pack", ValidationError("No pack holds as much or as little as that."))
        return cleaned

    def _kept_unit(self, name: str, typed: str) -> str:
        if name not in self.changed_data and name in self.kept:
            return str(self.kept[name])
        found = sold.kept_unit(typed, firm_units())
        if name == "unit" or found == self.kept.get(name):
            return found
        return sold.kept_purchase_unit(typed, firm_units())

    def _is_metric(self, name: str, typed: str) -> bool:
        """Say whether a unit was typed, or shown, as the metre of one that is kept otherwise."""
        return self._kept_unit(name, typed) != typed

    @staticmethod
    def _metric_in_pack(unit: str, purchase_unit: str) -> float:
        units = firm_units()
        worth = sold.metric_in_one(unit, units) / sold.metric_in_one(purchase_unit, units)
        return float(worth)
