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
from estimating.engine.site import FenceLine, Gate, GroundShot, Leg, Site
from estimating.mapping import firm_catalog_data

SAMPLE_WORDS = "60 ft and 40 ft with a corner between them, and a gate 30 ft from the start."
KEY = "sample"
GATE_AT_IN = 360.0
LEGS = (Leg(length_in=720.0), Leg(length_in=480.0, turn_deg=90.0))

# What a sample may stand on, the first as long as nobody chose: its words and its shots.
GROUNDS: dict[str, tuple[str, tuple[GroundShot, ...]]] = {
    "level": ("Level", ()),
    "slope": (
        "Rises evenly, 1 in 10",
        (
            GroundShot(station_in=0.0, elevation_in=0.0),
            GroundShot(station_in=1200.0, elevation_in=120.0),
        ),
    ),
    "dip": (
        "A dip of 12 in within 20 ft",
        (
            GroundShot(station_in=0.0, elevation_in=0.0),
            GroundShot(station_in=60.0, elevation_in=0.0),
            GroundShot(station_in=180.0, elevation_in=-12.0),
            GroundShot(station_in=300.0, elevation_in=0.0),
            GroundShot(station_in=1200.0, elevation_in=0.0),
        ),
    ),
}
# And the gate in it.
GATES: dict[str, tuple[str, Gate]] = {
    "walk": ("Walk gate of 42 in", Gate(id="G1", station_in=GATE_AT_IN, clear_opening_in=42.0)),
    "double": (
        "Drive gate of 12 ft, two leaves",
        Gate(id="G1", station_in=GATE_AT_IN, clear_opening_in=144.0, leaves=2, use="drive"),
    ),
    "slide": (
        "Slide gate of 12 ft",
        Gate(id="G1", station_in=GATE_AT_IN, clear_opening_in=144.0, use="drive", kind="slide"),
    ),
    "pool": (
        "Pool gate of 42 in",
        Gate(id="G1", station_in=GATE_AT_IN, clear_opening_in=42.0, use="pool"),
    ),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class SampleAsked:
    """Which ground and which gate a sample line has, by their keys."""

    ground: str = "level"
    gate: str = "walk"


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
    definition: Mapping[str, Any],
    *,
    before: Mapping[str, Any] | None,
    today: dt.date,
    asked: SampleAsked | None = None,
) -> list[SampleRow]:
    """Return the sample line's figures with a definition, beside those with the one before.

    Raises:
        EngineError: the engine can't work with the definition, or doesn't know an item.
    """
    data = firm_catalog_data(today=today)
    asked = asked or SampleAsked()
    after = _figures(definition, data, asked)
    earlier = _figures_if_sound(before, data, asked) if before is not None else {}
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


def _figures_if_sound(
    definition: Mapping[str, Any], data: Mapping[str, Any], asked: SampleAsked
) -> dict[str, Decimal]:
    """Return the figures of the version before; an unsound one has nothing to compare with."""
    try:
        return _figures(definition, data, asked)
    except EngineError:
        return {}


def _figures(
    definition: Mapping[str, Any], data: Mapping[str, Any], asked: SampleAsked
) -> dict[str, Decimal]:
    catalog = read_catalog({**data, "fence_systems": {KEY: {"name": KEY, **definition}}})
    check_items(catalog, {KEY})
    ground, gate = GROUNDS[asked.ground][1], GATES[asked.gate][1]
    line = FenceLine(id="A", name="", system=KEY, legs=LEGS, ground=ground, gates=(gate,))
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
