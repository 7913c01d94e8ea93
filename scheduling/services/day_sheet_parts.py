"""The parts of a day sheet that follow from its layout alone."""

from dataclasses import dataclass
from functools import lru_cache

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from estimating.selectors.build_sheets import BuildSheet, StringSetting
from firm.selectors.profile import firm_units
from scheduling.selectors.day_sheet import DaySheet
from scheduling.selectors.sheet_content import sheet_content


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetParts:
    """Posts with their concrete, bays with the gates, and the plan, as HTML."""

    posts: SafeString
    bays: SafeString
    plan: SafeString


def sheet_parts(sheet: DaySheet) -> SheetParts:
    """Return the parts of the sheet that its day shows."""
    key = (sheet.layout, sheet.string, sheet.by_hand_only, firm_units())
    return SheetParts(
        posts=_part("posts", *key) if sheet.shows_posts else SafeString(),
        bays=_part("bays", *key) if sheet.shows_bays else SafeString(),
        plan=_part("plan", *key),
    )


# A layout is opened many times on its day; a changed one is another key.
@lru_cache(maxsize=64)
def _part(
    name: str, layout: BuildSheet | None, string: StringSetting, by_hand_only: bool, units: str
) -> SafeString:
    context = {
        "layout": layout,
        "content": sheet_content(layout) if layout else None,
        "string": string,
        "by_hand_only": by_hand_only,
    }
    return render_to_string(f"scheduling/_sheet_{name}.html", context)
