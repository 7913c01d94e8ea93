"""The parts of a day sheet that follow from its layout alone."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from scheduling.selectors.day_sheet import DaySheet


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetParts:
    """Posts with their concrete, bays with the gates, and the plan, as HTML."""

    posts: SafeString
    bays: SafeString
    plan: SafeString


def sheet_parts(sheet: DaySheet) -> SheetParts:
    """Return the parts of the sheet that its day shows."""
    context = {"layout": sheet.layout, "content": sheet.content, "string": sheet.string}
    return SheetParts(
        posts=_part("posts", context) if sheet.shows_posts else SafeString(),
        bays=_part("bays", context) if sheet.shows_bays else SafeString(),
        plan=_part("plan", context),
    )


def _part(name: str, context: Mapping[str, object]) -> SafeString:
    return render_to_string(f"scheduling/_sheet_{name}.html", dict(context))
