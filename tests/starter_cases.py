"""The starter set read once, and the sites built with it."""

from collections.abc import Sequence
from functools import cache
from typing import Any

from estimating.engine.catalog import Catalog
from estimating.engine.estimate import estimate
from estimating.engine.reading import read_catalog
from estimating.engine.result import EstimateResult
from estimating.engine.site import Conditions, FenceLine, Leg, Site
from estimating.starter import load_starter_data


@cache
def starter_catalog() -> Catalog:
    return read_catalog(load_starter_data())


def fence_line(system: str, lengths_ft: Sequence[float], **changes: Any) -> FenceLine:
    """A line of legs, each after a right turn, between the centres of two end posts."""
    legs = tuple(
        Leg(length_in=length_ft * 12, turn_deg=0.0 if index == 0 else 90.0)
        for index, length_ft in enumerate(lengths_ft)
    )
    fields: dict[str, Any] = {"id": "A", "name": "", "system": system, "legs": legs}
    return FenceLine(**(fields | changes))


def estimate_line(
    line: FenceLine, catalog: Catalog | None = None, conditions: Conditions | None = None
) -> EstimateResult:
    site = Site(name="Made up", lines=(line,), conditions=conditions or Conditions())
    return estimate(site, catalog or starter_catalog())
