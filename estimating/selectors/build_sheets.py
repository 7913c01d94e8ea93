"""What a crew builds from: every post, bay and gate of a sold site with the figures to tape.

The newest version counts: the site as it was sold (0), or as the crew marked it on the ground.
"""

import json
from collections.abc import Iterator, Mapping
from functools import lru_cache, partial
from typing import Any

from estimating import mapping
from estimating.drawing.frame import LARGEST_PRINTED
from estimating.drawing.plan import plan_svg
from estimating.drawing.sheet import UtilityMark
from estimating.engine.result import LineLayout
from estimating.models import Estimate, GroundChange
from estimating.selectors.sheet_parts import (
    BuildSheet,
    SheetBay,
    SheetCut,
    SheetGate,
    SheetItem,
    SheetLine,
    SheetMark,
    SheetPost,
    StringSetting,
)
from estimating.selectors.sheet_reading import SheetReader
from firm.selectors.profile import firm_units

__all__ = [
    "SMALL_POSTS",
    "BuildSheet",
    "SheetBay",
    "SheetCut",
    "SheetGate",
    "SheetItem",
    "SheetLine",
    "SheetMark",
    "SheetPost",
    "StringSetting",
    "build_sheet",
]

Json = Mapping[str, Any]
# On paper the posts' list needs the room: a usual fence is drawn small beside the load list.
SMALL_POSTS = 30
SMALL_WIDTH, SMALL_HEIGHT = 400.0, 130.0


def build_sheet(
    proposal_id: int,
    *,
    string: StringSetting,
    version: int | None = None,
    with_plan: bool = True,
    on_paper: bool = False,
) -> BuildSheet | None:
    """Return what a crew builds a proposal's site from, in its newest version or in `version`.

    None where the work has no layout, or no such version. Two queries, and one more where the
    ground was changed. The plan is smaller on paper. Without it a sheet takes a third of the
    time where the site was not drawn yet.
    """
    sold = (
        Estimate.objects.filter(proposals=proposal_id)
        .only("document", "catalog", "result", "priced_at")
        .first()
    )
    if sold is None or not sold.result.get("lines"):
        return None
    changes = GroundChange.objects.filter(proposal=proposal_id)
    newest = changes.values_list("version", flat=True).order_by("-version").first() or 0
    asked = newest if version is None else version
    change = changes.filter(version=asked).first() if asked else None
    if asked and change is None:
        return None
    result: Json = change.result if change else sold.result
    document: Json = change.document if change else sold.document
    reader = SheetReader(document, sold.catalog, result, string)
    concrete = result.get("concrete") or {}
    return BuildSheet(
        proposal_id=proposal_id,
        version=asked,
        newest_version=newest,
        made_at=change.made_at if change else sold.priced_at,
        note=change.note if change else "",
        lines=tuple(reader.line(each) for each in result["lines"]),
        bags=int(concrete.get("bags", 0)),
        bag_name=reader.name_of(concrete.get("bag_item", "")),
        concrete_ft3=float(concrete.get("with_waste_ft3", 0.0)),
        items=reader.items(),
        cuts=reader.cuts(),
        marks=_marks(document),
        has_concrete=concrete.get("net_ft3", 1.0) > 0,
        plan_svg=_plan_of(result, document, on_paper) if with_plan else "",
    )


def _marks(document: Json) -> tuple[SheetMark, ...]:
    return tuple(
        SheetMark(
            line_id=strip["line_id"],
            station_in=strip["station_in"],
            utility=strip["utility"],
            width_in=strip["width_in"],
        )
        for strip in _strips(document)
    )


def _plan_of(result: Json, document: Json, on_paper: bool) -> str:
    drawn = {"lines": result["lines"], "marks": list(_strips(document))}
    return _plan(json.dumps(drawn), firm_units(), on_paper)


# Drawing takes longer than all the rest of a sheet; what is drawn is itself the key, so that no
# drawing outlives its layout.
@lru_cache(maxsize=32)
def _plan(drawn: str, units: str, on_paper: bool) -> str:
    layout = json.loads(drawn)
    lines = [mapping.from_plain(LineLayout, line) for line in layout["lines"]]
    utilities = [mapping.from_plain(UtilityMark, mark) for mark in layout["marks"]]
    draw = partial(plan_svg, lines, title="Site plan", units=units, utilities=utilities)
    if not on_paper:
        return draw()
    if sum(len(line.posts) for line in lines) > SMALL_POSTS:
        return draw(largest_drawing=LARGEST_PRINTED)
    return draw(is_bare=True, width=SMALL_WIDTH, largest_drawing=SMALL_HEIGHT)


def _strips(document: Json) -> Iterator[Json]:
    """Yield the utility marks as the drawing takes them; the tape's stations are near enough."""
    for line in document.get("lines", ()):
        for strip in line.get("no_dig", ()):
            yield {
                "line_id": line["id"],
                "station_in": strip["station_in"],
                "width_in": strip.get("facility_width_in", 0.0),
                "crossing_deg": strip.get("crossing_deg", 90.0),
                "utility": strip.get("utility", ""),
            }
