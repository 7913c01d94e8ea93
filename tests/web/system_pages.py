"""What a browser would send of the page of a fence system."""

import re
from html import unescape
from html.parser import HTMLParser
from typing import Any

from django.test import Client

from estimating.models import FenceSystem


def address_of(system: FenceSystem) -> str:
    return f"/price-book/systems/{system.pk}/edit/"


class Typed(HTMLParser):
    """Reads what a browser would send of the fields on a page."""

    def __init__(self) -> None:
        super().__init__()
        self.sent: dict[str, str] = {}
        self.name = ""
        self.is_text = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take an input's value, or the option that is chosen; wait for a text area's."""
        values = dict(attrs)
        name = values.get("name") or ""
        if tag in ("select", "textarea"):
            self.name = name
            self.sent[name] = ""
        elif tag == "option" and "selected" in values:
            self.sent[self.name] = values["value"] or ""
        elif tag == "input" and (values.get("type") != "checkbox" or "checked" in values):
            self.sent[name] = (
                values.get("value", "on" if values.get("type") == "checkbox" else "") or ""
            )
        self.is_text = tag == "textarea"

    def handle_data(self, data: str) -> None:
        """Take the text of a text area; the first line break belongs to the page."""
        if self.is_text:
            self.sent[self.name] += data.removeprefix("\n")


def shown(client: Client, address: str) -> dict[str, str]:
    """Everything a browser would send back from the page as it is shown."""
    parser = Typed()
    parser.feed(client.get(address).content.decode().partition('class="measure system"')[2])
    del parser.sent["csrfmiddlewaretoken"]
    return parser.sent


FRESH: dict[str, str] = {}


def fresh(client: Client, system: FenceSystem) -> dict[str, str]:
    """The same of the vinyl system as every test finds it: one page takes a third of a second."""
    if not FRESH:
        FRESH.update(shown(client, address_of(system)))
    return dict(FRESH)


def put(definition: dict[str, Any], path: tuple[Any, ...], kept: Any) -> None:
    *way, last = path
    place: Any = definition
    for step in way:
        place = place[step]
    place[last] = kept


def text_of(page: bytes) -> str:
    """Return the words of a page."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page.decode())))
