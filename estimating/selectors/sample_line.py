"""What a fence system does to a sample line, so that a change of its figures is seen at once."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate
from estimating.engine.reading import check_items, read_catalog
from estimating.engine.result import EstimateResult
from estimating.engine.site import FenceLine, Gate, Leg, Site
from estimating.mapping import firm_catalog_data

SAMPLE_WORDS = "60 ft and 40 ft with a corner between them, level, and a walk gate of 42 in."
KEY = "sample"


@dataclass(frozen=True, kw_only=True, slots=True)
class SampleRow:
    """One figure of the sample line; `before` is None where there is nothing to compare with."""

    name: str
    before: Decimal | None
    after: Decimal
    is_money: bool = False

    @property
    def change(self) -> Decimal | None:
        return None if self.before is None else self.after - self.before


def sample_rows(
    definition: Mapping[str, Any], *, before: Mapping[str, Any] | None, today: dt.date
) -> list[SampleRow]:
    """Return the sample line's figures with a definition, beside those with the one before.

    Raises:
        EngineError: the engine can't work with the definition, or doesn't know an item.
    """
    data = firm_catalog_data(today=today)
    after = _figures(definition, data)
    earlier = _figures_if_sound(before, data) if before is not None else {}
    return [
        SampleRow(name=name, before=earlier.get(name), after=value, is_money=is_money)
        for (name, is_money), value in zip(NAMES, after.values(), strict=True)
    ]


NAMES = (
    ("Posts", False),
    ("Bays", False),
    ("Gate posts", False),
    ("Bags of concrete", False),
    ("Labour hours", False),
    ("Material", True),
    ("Direct cost", True),
    ("Price before tax", True),
)


def _figures_if_sound(definition: Mapping[str, Any], data: Mapping[str, Any]) -> dict[str, Decimal]:
    """Return the figures of the version before; an unsound one has nothing to compare with."""
    try:
        return _figures(definition, data)
    except EngineError:
        return {}


def _figures(definition: Mapping[str, Any], data: Mapping[str, Any]) -> dict[str, Decimal]:
    catalog = read_catalog({**data, "fence_systems": {KEY: {"name": KEY, **definition}}})
    check_items(catalog, {KEY})
    legs = (Leg(length_in=720.0), Leg(length_in=480.0, turn_deg=90.0))
    gate = Gate(id="G1", station_in=360.0, clear_opening_in=42.0)
    line = FenceLine(id="A", name="", system=KEY, legs=legs, gates=(gate,))
    return _named(estimate(Site(name=KEY, lines=(line,)), catalog))


def _named(result: EstimateResult) -> dict[str, Decimal]:
    posts, bays = result.lines[0].posts, result.lines[0].bays
    values = (
        Decimal(len(posts)),
        Decimal(len(bays)),
        Decimal(sum(post.kind == "gate" for post in posts)),
        Decimal(result.concrete.bags),
        Decimal(str(round(result.total_hours, 2))),
        sum((row.amount for row in result.cost_lines if row.kind == "material"), Decimal(0)),
        result.money.direct_cost,
        result.money.price_before_tax,
    )
    return {name: value for (name, _), value in zip(NAMES, values, strict=True)}
