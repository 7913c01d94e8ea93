"""Prints a proposal, or a bare estimate, as a tagged PDF."""

import base64
import mimetypes
from collections.abc import Mapping
from typing import Any

from django.template.loader import render_to_string

from estimating.services.proposal_content import ProposalContent
from firm.models import FirmProfile
from firm.pdf import render_pdf

TEMPLATE = "pdf/proposal.html"


def proposal_html(content: ProposalContent, *, logo: str = "", is_draft: bool = False) -> str:
    """Return the HTML a proposal is printed from."""
    context: Mapping[str, Any] = {"content": content, "logo": logo, "is_draft": is_draft}
    return render_to_string(TEMPLATE, dict(context))


def render_proposal_pdf(
    content: ProposalContent, *, logo: str = "", is_draft: bool = False
) -> bytes:
    """Return a proposal as PDF; a draft says on every page that it is one."""
    return render_pdf(proposal_html(content, logo=logo, is_draft=is_draft))


def logo_address(firm: FirmProfile) -> str:
    """Return the firm's logo as a data: address, or nothing."""
    if not firm.logo:
        return ""
    kind = mimetypes.guess_type(firm.logo.name)[0] or "image/png"
    with firm.logo.open("rb") as file:
        return f"data:{kind};base64,{base64.b64encode(file.read()).decode('ascii')}"
