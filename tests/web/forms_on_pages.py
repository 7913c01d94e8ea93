"""Reads the forms of a page, to send them as a browser would."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

# What a person writes into; the rest is chosen, ticked or hidden.
WRITTEN = {"text", "number", "date", "time", "datetime-local", "email", "tel", "search", "url"}


@dataclass
class FormOnPage:
    """A form that is posted: where to, what it says so far, and what can be written into."""

    action: str
    values: dict[str, list[str]] = field(default_factory=dict)
    written: set[str] = field(default_factory=set)

    def filled(self, text: str) -> dict[str, list[str]]:
        """Return what is sent when the same is written into every field."""
        return self.values | {name: [text] for name in self.written}


class FormReader(HTMLParser):
    """Collects the posted forms of a page, with the fields that name a form by its id."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[FormOnPage] = []
        self._open: FormOnPage | None = None
        self._by_id: dict[str, FormOnPage] = {}
        self._area: tuple[FormOnPage, str] | None = None
        self._select: tuple[FormOnPage, str] | None = None
        self._is_pattern = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take a form, or what stands in one."""
        given = {name: value or "" for name, value in attrs}
        # What scripts make new rows from is not sent.
        self._is_pattern = self._is_pattern or tag == "template"
        if self._is_pattern:
            return
        if tag == "form":
            self._form(given)
        elif tag == "option" and self._select and "selected" in given:
            owner, name = self._select
            owner.values.setdefault(name, []).append(given.get("value", ""))
        form = self._by_id.get(given.get("form", ""), self._open)
        if form and given.get("name") and "disabled" not in given:
            self._field(form, tag, given)

    def _form(self, given: dict[str, str]) -> None:
        self._open = FormOnPage(given.get("action", ""))
        if given.get("method", "").lower() == "post":
            self.forms.append(self._open)
        if "id" in given:
            self._by_id[given["id"]] = self._open

    def _field(self, form: FormOnPage, tag: str, given: dict[str, str]) -> None:
        name = given["name"]
        if tag == "textarea":
            form.written.add(name)
            self._area = form, name
            form.values[name] = [""]
        elif tag == "select":
            self._select = form, name
        elif tag == "input":
            self._input(form, name, given)

    def _input(self, form: FormOnPage, name: str, given: dict[str, str]) -> None:
        kind = given.get("type", "text")
        if kind in WRITTEN:
            form.written.add(name)
        if kind in WRITTEN or kind == "hidden" or "checked" in given:
            form.values.setdefault(name, []).append(
                given.get("value", "on" if "checked" in given else "")
            )

    def handle_endtag(self, tag: str) -> None:
        """Close what was open."""
        if tag == "template":
            self._is_pattern = False
        elif tag == "form":
            self._open = None
        elif tag == "textarea":
            self._close_area()
        elif tag == "select":
            self._select = None

    def _close_area(self) -> None:
        """Leave out the line break that a page may write first (HTML, section 13.1.2.5)."""
        if self._area:
            form, name = self._area
            form.values[name][0] = form.values[name][0].removeprefix("\r").removeprefix("\n")
        self._area = None

    def handle_data(self, data: str) -> None:
        """Take what stands in a text area."""
        if self._area:
            form, name = self._area
            form.values[name][0] += data


def forms_of(html: str) -> list[FormOnPage]:
    """Return the posted forms of a page."""
    reader = FormReader()
    reader.feed(html)
    return reader.forms


def what_is_written(html: str) -> dict[str, set[str]]:
    """Return by name what stands in the fields that a person writes into, on the whole page."""
    found: dict[str, set[str]] = {}
    for form in forms_of(html):
        for name in form.written:
            found.setdefault(name, set()).update(form.values.get(name, []))
    return found
