"""The measure page as tests fill it in, send it and read it again."""

import re
from html import unescape
from typing import Any

from django.test import Client
from django.urls import reverse

from estimating.models import SiteMeasurement
from firm.models import JobSite


def page(**changes: str) -> dict[str, str]:
    """Return what a browser sends for one straight vinyl line of 50 ft."""
    values = {
        "act": "save",
        "site-based_on": "0",
        "site-name": "Larch Court",
        "site-notes": "",
        "conditions-soil_class": "normal",
        "conditions-dig_method": "two_man_auger",
        "conditions-spoil": "spread",
        "lines-0-id": "A",
        "lines-0-system": "vinyl_privacy_6ft",
        "lines-0-legs-0-length_in": "50 ft",
        "lines-0-legs-0-turn_deg": "",
    }
    return values | changes


def gate(**changes: str) -> dict[str, str]:
    values = {"station_in": "20 ft", "clear_opening_in": "4 ft", "leaves": "1"}
    return {f"lines-0-gates-0-{name}": value for name, value in (values | changes).items()}


def measure(client: Client, site: JobSite, data: dict[str, str]) -> Any:
    return client.post(reverse("site_measure", args=[site.pk]), data)


def document_of(site: JobSite) -> dict[str, Any]:
    document: dict[str, Any] = SiteMeasurement.objects.filter(site=site).latest("version").document
    return document


def error_at(html: str, name: str) -> str:
    """Return the message that the page shows at a field, tied to it for screen readers."""
    control = re.search(rf'<(?:input|select)[^>]*name="{re.escape(name)}"[^>]*>', html)
    assert control, f"the page has no field {name}"
    assert 'aria-invalid="true"' in control[0], f"{name} is not marked"
    described = re.search(r'aria-describedby="([^"]*)"', control[0])
    assert described
    texts = re.findall(rf'id="{re.escape(described[1].split()[-1])}"[^>]*><li>(.*?)</li>', html)
    return str(texts[0])


def typed_in(html: str) -> dict[str, str]:
    """Return what a browser would send of a page's form as it stands."""
    form = html.split("data-measure")[1].split("</form>")[0]
    sent = {"act": "save"}
    for control in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r'name="([^"]*)"', control), re.search(r'value="([^"]*)"', control)
        if name and not ("checkbox" in control and "checked" not in control):
            empty = "on" if "checkbox" in control else ""
            sent[name[1]] = unescape(value[1]) if value else empty
    for name_of, options in re.findall(r'<select[^>]*name="([^"]*)".*?>(.*?)</select>', form, re.S):
        chosen = re.search(r'value="([^"]*)" selected', options)
        sent[name_of] = chosen[1] if chosen else ""
    for name_of, text in re.findall(
        r'<textarea[^>]*name="([^"]*)"[^>]*>(.*?)</textarea>', form, re.S
    ):
        sent[name_of] = unescape(text).strip()
    return sent
