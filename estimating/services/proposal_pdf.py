"""Prints a proposal, or a bare estimate, as a tagged PDF."""

import base64
import math
import mimetypes
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import unescape
from typing import Any

from django.template.loader import render_to_string

from estimating.drawing import marks
from estimating.services.proposal_content import ProposalContent
from firm.models import FirmProfile
from firm.pdf import render_pdf

TEMPLATE = "pdf/proposal.html"
# Words of a plan as `estimating.drawing.marks.words` writes them.
EDGED_WORDS = re.compile(
    r'(?P<tag><text x="(?P<x>[-.\d]+)" y="(?P<y>[-.\d]+)"[^>]*? font-size="(?P<size>[.\d]+)"'
    r'[^>]*? text-anchor="(?P<anchor>start|middle|end)"(?: font-weight="\d+")?)'
    r' stroke="[^>]*? paint-order="stroke"(?P<turn> transform="[^"]*")?>(?P<words>[^<]*)</text>'
)
PRINTED_FONT = "Post Sans, DejaVu Sans, sans-serif"
LONGEST_LEAD = 60
TITLE_AND_ABOUT = re.compile(
    r"(?P<title><title[^>]*>[^<]*)</title>(?P<desc><desc[^>]*>(?P<about>[^<]*)</desc>)"
)
VIEW_BOX = re.compile(r'viewBox="0 0 (?P<width>[.\d]+) (?P<height>[.\d]+)"')
# Measures of the printed page, as the style sheet sets them.
PAGE_ROOM_MM = 279.4 - 15 - 18
TEXT_WIDTH_MM = 215.9 - 2 * 19
FIRST_PAGE_HEAD_MM = 92.0  # letterhead, title, parties, the box of figures, two headings
LINE_MM = 4.8
PARAGRAPH_GAP_MM = 1.8
LETTERS_A_LINE = 112
PLAN_SIZES_PCT = (100, 95, 90, 85)
TITLE_LINE_MM = 8.3
LETTERS_A_TITLE_LINE = 48
LETTER_WIDTH = 0.54  # of the font's size
PAPER_EDGE = 2.0


def proposal_html(content: ProposalContent, *, logo: str = "", is_draft: bool = False) -> str:
    """Return the HTML a proposal is printed from."""
    context: Mapping[str, Any] = {
        "content": content,
        "plan": printable(content.plan_svg),
        "plan_place": _plan_place(content),
        "elevations": [(each.name, printable(each.svg)) for each in content.elevations],
        "scope": [_lead_and_rest(line) for line in content.scope],
        "logo": logo,
        "is_draft": is_draft,
    }
    return render_to_string(TEMPLATE, dict(context))


@dataclass(frozen=True, kw_only=True, slots=True)
class PlanPlace:
    """Where the plan stands and how large: above the scope or below it."""

    is_first: bool = False
    size_pct: int = 100


def _plan_place(content: ProposalContent) -> PlanPlace:
    """Return where the plan still stands on the first page, a little smaller if it must be.

    A plan is never cut in two. Above a long scope, which flows on, it leaves no page half empty.
    """
    box = VIEW_BOX.search(content.plan_svg)
    if box is None:
        return PlanPlace()
    title_mm = TITLE_LINE_MM * (math.ceil(len(content.title) / LETTERS_A_TITLE_LINE) - 1)
    plan_mm = TEXT_WIDTH_MM * float(box["height"]) / float(box["width"])
    left_mm = PAGE_ROOM_MM - FIRST_PAGE_HEAD_MM - title_mm
    left_mm -= _height_mm(content.introduction.splitlines())
    for above_mm, is_first in ((_height_mm(content.scope), False), (0.0, True)):
        for size_pct in PLAN_SIZES_PCT:
            if plan_mm * size_pct / 100 <= left_mm - above_mm:
                return PlanPlace(is_first=is_first, size_pct=size_pct)
    return PlanPlace()


def _height_mm(paragraphs: Sequence[str]) -> float:
    lines = sum(math.ceil(len(text) / LETTERS_A_LINE) for text in paragraphs)
    return lines * LINE_MM + len(paragraphs) * PARAGRAPH_GAP_MM


def _lead_and_rest(line: str) -> tuple[str, str]:
    """Return what stands before a line's first colon, to be set in bold, and what follows."""
    lead, colon, rest = line.partition(": ")
    return (lead, rest) if colon and len(lead) <= LONGEST_LEAD else ("", line)


def printable(plan_svg: str) -> str:
    """Return a plan whose words stand on white paper instead of within white edges.

    WeasyPrint knows no `paint-order` and would paint the edges over the words. The words are set
    in the font of the paper around them. A figure's words for who can't see it are its title
    alone: what the drawing shows joins it there.
    """
    plan_svg = TITLE_AND_ABOUT.sub(r"\g<title>. \g<about></title>\g<desc>", plan_svg)
    return EDGED_WORDS.sub(_words_on_paper, plan_svg.replace(marks.FONT, PRINTED_FONT))


def _words_on_paper(found: re.Match[str]) -> str:
    tag, turn, words = found["tag"], found["turn"] or "", found["words"]
    x, y, size = (float(found[name]) for name in ("x", "y", "size"))
    width = LETTER_WIDTH * size * len(unescape(words)) + PAPER_EDGE
    left = {"start": x, "middle": x - width / 2, "end": x - width}[found["anchor"]]
    paper = (
        f'<rect x="{left:.1f}" y="{y - size * 0.85:.1f}" width="{width:.1f}" '
        f'height="{size * 1.05:.1f}" fill="#ffffff"{turn}/>'
    )
    return f"{paper}{tag}{turn}>{words}</text>"


def render_proposal_pdf(
    content: ProposalContent, *, logo: str = "", is_draft: bool = False
) -> bytes:
    """Return a proposal as PDF; a draft says on every page that it is one."""
    return render_pdf(proposal_html(content, logo=logo, is_draft=is_draft))


def logo_address(firm: FirmProfile) -> str:
    """Return the firm's logo as a data: address, or nothing."""
    if not firm.logo:
        return ""
    kind = mimetypes.guess_type(firm.logo.name or "")[0] or "image/png"
    with firm.logo.open("rb") as file:
        return f"data:{kind};base64,{base64.b64encode(file.read()).decode('ascii')}"
