"""Prints a day sheet: one letter page for a usual job, black on white."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.template.loader import render_to_string

from estimating.selectors.build_sheets import SMALL_POSTS
from estimating.services.proposal_pdf import printable
from firm.pdf import render_pdf
from firm.selectors.languages import speaking
from scheduling.selectors.day_sheet import DaySheet

TEMPLATE = "pdf/day_sheet.html"
# With more posts than these the lines move together, so that the list still fits on its page.
ROOMY_POSTS = 14


def day_sheet_html(sheet: DaySheet, *, now: dt.datetime) -> str:
    """Return the HTML a day sheet is printed from."""
    context: Mapping[str, Any] = {
        "sheet": sheet,
        "job": sheet.job,
        "layout": sheet.layout,
        "content": sheet.content,
        "is_dense": bool(sheet.content and sheet.content.post_count > ROOMY_POSTS),
        "plan_is_small": bool(sheet.content and sheet.content.post_count <= SMALL_POSTS),
        "plan": printable(sheet.layout.plan_svg) if sheet.layout else "",
        "string": sheet.string,
        "by_hand_only": sheet.by_hand_only,
        "printed_at": now,
    }
    with speaking(sheet.language):
        return render_to_string(TEMPLATE, dict(context))


def day_sheet_pdf(sheet: DaySheet, *, now: dt.datetime) -> bytes:
    """Return a day sheet as PDF."""
    return render_pdf(day_sheet_html(sheet, now=now))
