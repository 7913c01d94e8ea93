"""Prints what the customer signed when the job was done."""

from django.template.loader import render_to_string

from firm.pdf import render_pdf
from firm.selectors.profile import firm_profile
from firm.services.signatures import signature_path
from scheduling.models import Completion

TEMPLATE = "pdf/completion.html"


def render_completion_pdf(completion: Completion) -> bytes:
    """Return the completion as PDF, made of what is kept for ever."""
    context = {
        "completion": completion,
        "job": completion.job,
        "firm": firm_profile(),
        "path": signature_path(completion.strokes),
    }
    return render_pdf(render_to_string(TEMPLATE, context))
