"""The parts of a day sheet that are the same each time it is opened, kept as HTML.

A sheet is opened many times on its day. What a part depends on is its key, so that nothing is kept
that has changed.
"""

import datetime as dt
from dataclasses import dataclass
from functools import lru_cache

from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.safestring import SafeString

from estimating.selectors.build_sheets import BuildSheet, SheetMark, StringSetting
from firm.selectors.languages import speaking
from firm.selectors.profile import firm_units
from scheduling.selectors.day_sheet import DaySheet
from scheduling.selectors.dig import DigAnswer
from scheduling.selectors.hang_parts import HangPart
from scheduling.selectors.planning import CureSpan
from scheduling.selectors.pours import PourRow
from scheduling.selectors.rain_bars import RainBar
from scheduling.selectors.sheet_content import sheet_content
from scheduling.selectors.sheet_papers import SheetPermit, SheetTicket

NOTHING = SafeString()


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetParts:
    """What to load, posts with their concrete, bays with the gates, the plan, the cautions."""

    concrete: SafeString
    posts: SafeString
    bays: SafeString
    plan: SafeString
    cautions: SafeString


@dataclass(frozen=True, kw_only=True, slots=True)
class DayParts:
    """Whether one may dig and pour, and whether one may hang."""

    dig: SafeString
    hang: SafeString


@dataclass(frozen=True, kw_only=True, slots=True)
class _SheetKey:
    """All that the parts of a layout depend on."""

    layout: BuildSheet | None
    string: StringSetting
    by_hand_only: bool
    units: str
    language: str
    mix: str
    machines: tuple[str, ...]
    cautions: tuple[str, ...]
    shows_posts: bool
    shows_bays: bool
    hang_parts: tuple[HangPart, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _DayKey:
    """All that the answers of a day depend on."""

    language: str
    units: str
    zone: str
    date: dt.date
    digs: bool
    pours: bool
    hangs: bool
    by_hand_only: bool
    dig: DigAnswer
    rain: RainBar | None
    tickets: tuple[SheetTicket, ...]
    permits: tuple[SheetPermit, ...]
    inspections: str
    marked: tuple[str, ...]
    has_layout: bool
    hand_dig: str
    hand_count: int
    marks: tuple[SheetMark, ...]
    tolerance_in: float
    spans: tuple[CureSpan, ...]
    sentence: str
    tells_sentence: bool
    hangs_later: tuple[str, ...]
    hangs_too_early: tuple[str, ...]
    hangs_in_part: bool
    hang_parts: tuple[HangPart, ...]
    each_pour: tuple[PourRow, ...]


def sheet_parts(sheet: DaySheet) -> SheetParts:
    """Return the parts that follow from the layout, as far as the day shows them."""
    key = _SheetKey(
        layout=sheet.layout,
        string=sheet.string,
        by_hand_only=sheet.by_hand_only,
        units=firm_units(),
        language=sheet.language,
        mix=sheet.job.mix,
        machines=tuple(sheet.machines),
        cautions=tuple(sheet.cautions),
        shows_posts=sheet.shows_posts,
        shows_bays=sheet.shows_bays,
        hang_parts=tuple(part for part in sheet.hang_parts if part.bars),
    )
    return _of_layout(key)


def day_parts(sheet: DaySheet) -> DayParts:
    """Return the answers of the day."""
    layout, content = sheet.layout, sheet.content
    key = _DayKey(
        language=sheet.language,
        units=firm_units(),
        zone=timezone.get_current_timezone_name(),
        date=sheet.date,
        digs=sheet.digs,
        pours=sheet.pours,
        hangs=sheet.hangs,
        by_hand_only=sheet.by_hand_only,
        dig=sheet.dig,
        rain=sheet.rain,
        tickets=sheet.tickets,
        permits=sheet.permits,
        inspections=sheet.inspections,
        marked=tuple(sheet.marked),
        has_layout=layout is not None,
        hand_dig=content.hand_dig if content else "",
        hand_count=content.hand_count if content else 0,
        marks=layout.marks if layout else (),
        tolerance_in=layout.tolerance_in if layout else 0.0,
        spans=tuple(sheet.hang.spans),
        sentence=sheet.hang.sentence,
        tells_sentence=not sheet.hang.is_told_by_pours,
        hangs_later=tuple(sheet.hangs_later),
        hangs_too_early=tuple(sheet.hangs_too_early),
        hangs_in_part=sheet.hangs_in_part,
        hang_parts=tuple(sheet.hang_parts),
        each_pour=sheet.hang.pours.rows,
    )
    return _of_day(key)


@lru_cache(maxsize=64)
def _of_layout(key: _SheetKey) -> SheetParts:
    with speaking(key.language):
        return SheetParts(
            concrete=_part("concrete", key) if key.layout and key.shows_posts else NOTHING,
            posts=_part("posts", key) if key.layout and key.shows_posts else NOTHING,
            bays=_part("bays", key) if key.layout and key.shows_bays else NOTHING,
            plan=_part("plan", key) if key.layout else NOTHING,
            cautions=_part("cautions", key) if key.cautions else NOTHING,
        )


def _part(name: str, key: _SheetKey) -> SafeString:
    context = {
        "layout": key.layout,
        "content": sheet_content(key.layout) if key.layout else None,
        "string": key.string,
        "by_hand_only": key.by_hand_only,
        "mix": key.mix,
        "machines": key.machines,
        "cautions": key.cautions,
        "hang_parts": key.hang_parts,
    }
    return render_to_string(f"scheduling/_sheet_{name}.html", context)


@lru_cache(maxsize=128)
def _of_day(key: _DayKey) -> DayParts:
    with speaking(key.language):
        return DayParts(
            dig=render_to_string("scheduling/_sheet_dig.html", {"sheet": key}),
            hang=render_to_string("scheduling/_sheet_hang.html", {"sheet": key}),
        )
