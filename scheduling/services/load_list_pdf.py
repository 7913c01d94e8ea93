"""Prints what a crew loads."""

import datetime as dt

from django.template.loader import render_to_string

from firm.pdf import render_pdf
from firm.selectors.languages import speaking
from scheduling.selectors.load_list import LoadList

TEMPLATE = "pdf/load_list.html"


def load_list_html(loads: LoadList, *, now: dt.datetime) -> str:
    """Return the HTML a load list is printed from; no price is on it."""
    with speaking(loads.language):
        return render_to_string(TEMPLATE, {"loads": loads, "printed_at": now})


def load_list_pdf(loads: LoadList, *, now: dt.datetime) -> bytes:
    """Return a load list as PDF."""
    return render_pdf(load_list_html(loads, now=now))
