"""What a crew builds from: every post, bay and gate of a sold site with the figures to tape.

The newest version counts: the site as it was sold (0), or as the crew marked it on the ground.
"""

import json
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache, partial
from typing import Any

from django.db.models import QuerySet, Subquery, TextField
from django.db.models.functions import Cast

from estimating import mapping
from estimating.drawing.frame import LARGEST_PRINTED
from estimating.drawing.plan import plan_svg
from estimating.engine.result import LineLayout
from estimating.models import Estimate, GroundChange
from estimating.selectors.sheet_parts import (
    TOLERANCE_IN,
    BuildSheet,
    SheetBay,
    SheetCut,
    SheetGate,
    SheetLine,
    SheetMark,
    SheetPost,
    StringSetting,
)
from estimating.selectors.sheet_reading import SheetReader
from estimating.selectors.site_marks import fixed_marks, utility_marks
from firm.selectors.profile import firm_units

__all__ = [
    "SMALL_POSTS",
    "BuildSheet",
    "SheetBay",
    "SheetCut",
    "SheetGate",
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
# As wide as a phone shows without scrolling.
PHONE_WIDTH, PHONE_HEIGHT = 320.0, 240.0


def build_sheet(
    proposal_id: int,
    *,
    string: StringSetting,
    version: int | None = None,
    with_plan: bool = True,
    on_paper: bool = False,
) -> BuildSheet | None:
    """Return what a crew builds a proposal's site from, in its newest version or in `version`.

    None where the work has no layout, or no such version. One query, and one more where the
    ground was changed. A usual fence's plan fits a phone, or a corner of the paper. Without it a
    sheet takes a third of the time where the site was not drawn yet.
    """
    changes = GroundChange.objects.filter(proposal=proposal_id)
    newest_version = Subquery(changes.order_by("-version").values("version")[:1])
    texts = ("document_text", "catalog_text", "result_text")
    found = (
        Estimate.objects.filter(proposals=proposal_id)
        .annotate(catalog_text=_text("catalog"), newest=newest_version, **_TEXTS)
        .values_list(*texts, "priced_at", "newest", named=True)
    )
    sold = next(iter(found.order_by()), None)  # a proposal has one: to put them in order takes time
    if sold is None:
        return None
    newest = sold.newest or 0
    asked = newest if version is None else version
    change = _change(changes.filter(version=asked)) if asked else None
    if asked and change is None:
        return None
    built = change or sold
    document, result = built.document_text, built.result_text
    sheet = _read(document, sold.catalog_text, result, string)
    if sheet is None:
        return None
    return replace(
        sheet,
        proposal_id=proposal_id,
        version=asked,
        newest_version=newest,
        made_at=change.made_at if change else sold.priced_at,
        note=change.note if change else "",
        plan_svg=_plan(document, result, firm_units(), on_paper) if with_plan else "",
    )


def _change(changes: QuerySet[Any]) -> Any:
    texts = changes.annotate(**_TEXTS)
    return texts.values_list("document_text", "result_text", "made_at", "note", named=True).first()


def _text(field: str) -> Cast:
    return Cast(field, TextField())


# The documents come as text, which is itself the key to what was read from it or drawn: nothing
# that is kept outlives its layout.
_TEXTS = {"document_text": _text("document"), "result_text": _text("result")}


@lru_cache(maxsize=32)
def _read(
    document_text: str, catalog_text: str, result_text: str, string: StringSetting
) -> BuildSheet | None:
    """Return the sheet of a layout, as yet without its place among the versions."""
    result: Json = json.loads(result_text)
    if not result.get("lines"):
        return None
    document: Json = json.loads(document_text)
    reader = SheetReader(document, json.loads(catalog_text), result, string)
    concrete = result.get("concrete") or {}
    return BuildSheet(
        proposal_id=0,
        version=0,
        newest_version=0,
        made_at=None,
        note="",
        lines=tuple(reader.line(each) for each in result["lines"]),
        bags=reader.bags(),
        more_pct=round((reader.waste_factor - 1) * 100, 2),
        bag_name=reader.name_of(concrete.get("bag_item", "")),
        concrete_ft3=float(concrete.get("with_waste_ft3", 0.0)),
        cuts=reader.cuts(),
        saw_list=reader.saw_list(),
        stops=reader.stops(),
        concrete_comes=reader.concrete_comes(),
        marks=_marks(document),
        tolerance_in=_tolerance_in(document),
        has_concrete=concrete.get("net_ft3", 1.0) > 0,
        plan_svg="",
    )


def _tolerance_in(document: Json) -> float:
    conditions: Json = document.get("conditions") or {}
    return float(conditions.get("hand_dig_tolerance_in", TOLERANCE_IN))


def _marks(document: Json) -> tuple[SheetMark, ...]:
    return tuple(
        SheetMark(
            line_id=mark.line_id,
            station_in=mark.station_in,
            utility=mark.utility,
            width_in=mark.width_in,
        )
        for mark in utility_marks(document)
    )


@lru_cache(maxsize=32)
def _plan(document_text: str, result_text: str, units: str, on_paper: bool) -> str:
    document, result = json.loads(document_text), json.loads(result_text)
    lines = [mapping.from_plain(LineLayout, line) for line in result["lines"]]
    draw = partial(
        plan_svg,
        lines,
        title="Site plan",
        units=units,
        utilities=utility_marks(document),
        fixed=fixed_marks(document),
    )
    if sum(len(line.posts) for line in lines) > SMALL_POSTS:
        return draw(largest_drawing=LARGEST_PRINTED) if on_paper else draw()
    width, high = (SMALL_WIDTH, SMALL_HEIGHT) if on_paper else (PHONE_WIDTH, PHONE_HEIGHT)
    return draw(is_bare=True, width=width, largest_drawing=high)
