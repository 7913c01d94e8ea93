"""The site plan of an estimate, and the elevations of its lines, as SVG pictures."""

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

from estimating.drawing import plan
from estimating.drawing.elevation import Elevation, elevations
from estimating.drawing.frame import LARGEST_PRINTED
from estimating.drawing.profile import views_of
from estimating.engine.result import LineLayout
from estimating.mapping import from_plain
from estimating.models import Estimate
from estimating.selectors.site_marks import fixed_marks, utility_marks
from firm.measure.written import US, length_words


def plan_svg(estimate: Estimate, units: str = US) -> str:
    """Return the plan drawn to scale, or nothing for a repair without a layout."""
    lines = [from_plain(LineLayout, line) for line in estimate.result.get("lines", ())]
    if not lines:
        return ""
    return plan.plan_svg(
        lines,
        title=f"Site plan: {estimate.title}",
        length_words=partial(length_words, units=units),
        units=units,
        id_prefix="plan",
        utilities=utility_marks(estimate.document),
        fixed=fixed_marks(estimate.document),
        largest_drawing=LARGEST_PRINTED,
    )


def elevation_drawings(estimate: Estimate, units: str = US) -> tuple[Elevation, ...]:
    """Return the elevations of the lines whose ground was measured."""
    result = estimate.result
    lines = [from_plain(LineLayout, line) for line in result.get("lines", ())]
    return line_elevations(
        lines,
        estimate.catalog.get("fence_systems", {}),
        {hole["post_number"]: hole["depth_in"] for hole in result.get("holes", ())},
        units=units,
    )


def line_elevations(
    lines: Sequence[LineLayout],
    fence_systems: Mapping[str, Mapping[str, Any]],
    depths_in: Mapping[int, float],
    *,
    units: str,
) -> tuple[Elevation, ...]:
    """Return the elevations of lines built in systems as plain data."""
    views = views_of(fence_systems)
    return tuple(elevations(lines, views, depths_in=depths_in, units=units))
