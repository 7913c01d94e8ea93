"""Invented fence systems and lines for the layout tests."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from estimating.engine.catalog import (
    Catalog,
    FenceSystem,
    GateHardware,
    HoleRule,
    PostProduct,
    Rates,
    Rules,
)
from estimating.engine.layout import Layout, lay_out
from estimating.engine.result import LineLayout
from estimating.engine.site import Conditions, FenceLine, Gate, Leg, LineEnd, Site

RULES = Rules(
    crew_rate=Decimal(60),
    crew_size=2,
    hours_per_day=8,
    overhead_method="per_crew_day",
    overhead_rate=Decimal(800),
    target_margin_pct=Decimal(12),
)


def post(item: str, width_in: float) -> PostProduct:
    return PostProduct(item=item, width_in=width_in, length_in=108)


# Posts 5 in square, beside gates 6 in: 96 in on centre leaves 91 in between line posts.
PANEL = FenceSystem(
    key="panel",
    name="Panels",
    family="panel",
    height_in=72,
    max_on_centre_in=96,
    min_clear_in=12,
    spacing="level",
    division="equal",
    setting="wet_set",
    posts={
        "line": post("line_post", 5),
        "end": post("end_post", 5),
        "corner": post("corner_post", 5),
        "gate": post("gate_post", 6),
    },
    hole=HoleRule(base_depth_in=30),
    materials=(),
    gate=GateHardware(hinge_gap_in=1, latch_gap_in=1, centre_gap_in=1),
    labor={},
    rail_insertion_in=1.5,
    max_rack_in=6,
)
# Pipes of 1-7/8 in on the line and 2-3/8 in at terminals, at most 10 ft on centre.
FABRIC = replace(
    PANEL,
    key="fabric",
    name="Fabric",
    family="fabric",
    height_in=48,
    max_on_centre_in=120,
    spacing="along_grade",
    posts={"line": post("line_pipe", 1.875), "end": post("end_pipe", 2.375)},
    rail_insertion_in=0,
    max_rack_in=0,
    pull_every_in=6000,
)
FULL_AND_SHORT = replace(PANEL, key="full_and_short", division="full_and_short")
SYSTEMS = {system.key: system for system in (PANEL, FABRIC, FULL_AND_SHORT)}


def catalog(*systems: FenceSystem) -> Catalog:
    return Catalog(
        systems=SYSTEMS | {system.key: system for system in systems},
        prices={},
        rates=Rates(hours={}, swell_pct={}),
        rules=RULES,
    )


def legs(*lengths_in: float, turn_deg: float = 90) -> tuple[Leg, ...]:
    """Return legs with the same turn between each two."""
    return tuple(
        Leg(length_in=length_in, turn_deg=turn_deg if i else 0)
        for i, length_in in enumerate(lengths_in)
    )


def line(*lengths_in: float, **changes: Any) -> FenceLine:
    fields: dict[str, Any] = {
        "id": "A",
        "name": "Line",
        "system": "panel",
        "legs": legs(*lengths_in),
    }
    return FenceLine(**(fields | changes))


def gate(station_in: float, clear_opening_in: float = 48, **changes: Any) -> Gate:
    fields: dict[str, Any] = {
        "id": "G1",
        "station_in": station_in,
        "clear_opening_in": clear_opening_in,
    }
    return Gate(**(fields | changes))


def shared(line_id: str, at: str) -> LineEnd:
    return LineEnd(kind="shared_post", shared_line=line_id, shared_at=at)


def laid_out(*lines: FenceLine, systems: tuple[FenceSystem, ...] = (), **conditions: Any) -> Layout:
    site = Site(name="Site", lines=lines, conditions=Conditions(**conditions))
    return lay_out(site, catalog(*systems))


def only_line(layout: Layout) -> LineLayout:
    (only,) = layout.lines
    return only


def codes(layout: Layout) -> set[str]:
    return {finding.code for finding in layout.findings}
