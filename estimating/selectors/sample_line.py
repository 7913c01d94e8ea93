"""What a fence system does to a sample line, so that a change of its figures is seen at once."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate
from estimating.engine.reading import check_items, read_catalog
from estimating.engine.result import EstimateResult
from estimating.engine.site import FenceLine, Gate, GroundShot, Leg, Site
from estimating.mapping import firm_catalog_data
from estimating.selectors.sample_figures import (
    SampleFinding,
    SampleRow,
    figures_of,
    findings_of,
    rows_of,
)

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
class Sample:
    """What a definition does to the sample line, beside the one before where that is sound."""

    rows: Sequence[SampleRow]
    findings: Sequence[SampleFinding]

    @property
    def changed(self) -> list[SampleRow]:
        """The figures that differ, or all where there is nothing to compare with."""
        return [row for row in self.rows if not row.is_same]

    @property
    def same(self) -> list[SampleRow]:
        """The figures that stay as they were."""
        return [row for row in self.rows if row.is_same]

    @property
    def is_same(self) -> bool:
        """Say whether nothing that is shown differs."""
        return not self.changed and all(each.state == "stays" for each in self.findings)


def sample_of(
    definition: Mapping[str, Any],
    *,
    before: Mapping[str, Any] | None,
    today: dt.date,
    units: str,
    asked: SampleAsked | None = None,
) -> Sample:
    """Return the sample line's figures with a definition, beside those with the one before.

    Raises:
        EngineError: the engine can't work with the definition, or doesn't know an item.
    """
    data = firm_catalog_data(today=today)
    asked = asked or SampleAsked()
    now = _estimate(definition, data, asked)
    earlier = _estimate_if_sound(before, data, asked) if before is not None else None
    return Sample(
        rows=rows_of(
            figures_of(earlier, units) if earlier else {},
            figures_of(now, units),
            is_compared=earlier is not None,
            units=units,
        ),
        findings=findings_of(earlier.findings if earlier else (), now.findings),
    )


def _estimate_if_sound(
    definition: Mapping[str, Any], data: Mapping[str, Any], asked: SampleAsked
) -> EstimateResult | None:
    """Return what the version before comes to; an unsound one has nothing to compare with."""
    try:
        return _estimate(definition, data, asked)
    except EngineError:
        return None


def _estimate(
    definition: Mapping[str, Any], data: Mapping[str, Any], asked: SampleAsked
) -> EstimateResult:
    catalog = read_catalog({**data, "fence_systems": {KEY: {"name": KEY, **definition}}})
    check_items(catalog, {KEY})
    ground, gate = GROUNDS[asked.ground][1], GATES[asked.gate][1]
    line = FenceLine(id="A", name="", system=KEY, legs=LEGS, ground=ground, gates=(gate,))
    return estimate(Site(name=KEY, lines=(line,)), catalog)
