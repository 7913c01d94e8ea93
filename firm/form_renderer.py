"""Writes the commonest parts of forms in plain Python, tag for tag as Django's templates do.

A template of its own for each input, and for each field's empty list of errors, took three
quarters of the time of a page with hundreds of fields.
"""

from collections.abc import Callable, Mapping
from functools import lru_cache
from html import escape
from typing import Any

from django.forms.renderers import DjangoTemplates
from django.http import HttpRequest
from django.utils.safestring import SafeString

Context = Mapping[str, Any]
LONGEST_KEPT = 100
INPUTS = ("text", "hidden", "number", "email", "password", "date", "datetime", "time", "checkbox")


def as_written(value: Any) -> str:
    """Return a value as a template writes it: escaped, what is marked as safe unchanged."""
    text = value if isinstance(value, str) else str(value)
    if isinstance(text, SafeString):
        return text
    return _escaped(text) if len(text) <= LONGEST_KEPT else escape(text)


@lru_cache(maxsize=2048)
def _escaped(text: str) -> str:
    """Return a short text escaped: names of attributes and labels come again and again."""
    return escape(text)


def _attrs(widget: Context) -> str:
    return "".join(
        f" {as_written(name)}" if value is True else f' {as_written(name)}="{as_written(value)}"'
        for name, value in widget["attrs"].items()
        if value is not False
    )


def _input(context: Context) -> str:
    widget = context["widget"]
    value = widget["value"]
    shown = "" if value is None else f' value="{as_written(value)}"'
    return (
        f'<input type="{as_written(widget["type"])}" name="{as_written(widget["name"])}"'
        f"{shown}{_attrs(widget)}>"
    )


def _textarea(context: Context) -> str:
    widget = context["widget"]
    shown = as_written(widget["value"]) if widget["value"] else ""
    return f'<textarea name="{as_written(widget["name"])}"{_attrs(widget)}>\n{shown}</textarea>'


def _select(context: Context) -> str:
    widget = context["widget"]
    groups = "".join(_options(name, options) for name, options, _ in widget["optgroups"])
    return f'<select name="{as_written(widget["name"])}"{_attrs(widget)}>{groups}</select>'


def _options(group: str | None, options: list[dict[str, Any]]) -> str:
    written = "".join(map(_option, options))
    return f'<optgroup label="{as_written(group)}">{written}</optgroup>' if group else written


def _option(option: Context) -> str:
    label = as_written(option["label"])
    return f'<option value="{as_written(option["value"])}"{_attrs(option)}>{label}</option>'


def _errors(context: Context) -> str:
    errors = context["errors"]
    if not errors:
        return ""
    place = f' id="{as_written(errors.field_id)}_error"' if errors.field_id else ""
    items = "".join(f"<li>{as_written(error)}</li>" for error in errors)
    return f'<ul class="{as_written(context["error_class"])}"{place}>{items}</ul>'


WRITERS: Mapping[str, Callable[[Context], str]] = {
    **{f"django/forms/widgets/{kind}.html": _input for kind in INPUTS},
    "django/forms/widgets/textarea.html": _textarea,
    "django/forms/widgets/select.html": _select,
    "django/forms/errors/list/default.html": _errors,
    "django/forms/errors/list/ul.html": _errors,
}


class PlainRenderer(DjangoTemplates):
    """Django's renderer of forms; what is no common part still goes through its templates."""

    def render(
        self, template_name: str, context: dict[str, Any], request: HttpRequest | None = None
    ) -> str:
        """Return a part of a form, each value in it escaped."""
        write = WRITERS.get(template_name)
        if write is None:
            return super().render(template_name, context, request)
        return write(context)
