"""Writes a field of a form: label, help, errors and input, tied together for screen readers."""

from django import template
from django.forms.boundfield import BoundField
from django.utils.safestring import SafeString
from django.utils.translation import gettext

from firm.form_renderer import as_written

register = template.Library()


@register.simple_tag
def field_group(field: BoundField, *, is_needed: bool = False) -> SafeString:
    """Return a field with all that belongs to it; a hidden one stands alone.

    One that `is_needed` where it is shown is not called optional, though its form may do without.
    """
    if field.is_hidden:
        return SafeString(field)  # a widget escapes its own values
    errors = str(field.errors) if field.name in field.form.errors else ""
    state = " has-error" if errors else ""
    label = _label(field, is_optional=not (field.field.required or is_needed))
    if field.use_fieldset:
        written = _fieldset(field, label, errors, state)
    elif field.widget_type == "checkbox":
        written = (
            f'<div class="field field-check{state}">{errors}<div class="check-row">{field}'
            f'<label for="{as_written(field.id_for_label)}">{as_written(field.label)}</label></div>'
            f"{_help(field)}</div>"
        )
    else:
        written = (
            f'<div class="field field-{as_written(field.widget_type)}{state}">'
            f'<label for="{as_written(field.id_for_label)}">{label}</label>'
            f"{_help(field)}{errors}{field}</div>"
        )
    return SafeString(written)  # each value in it is escaped


def _fieldset(field: BoundField, label: str, errors: str, state: str) -> str:
    """Return several inputs that answer one question."""
    told_by = field.aria_describedby
    described = f' aria-describedby="{as_written(told_by)}"' if told_by else ""
    return (
        f'<fieldset class="field{state}"{described}><legend>{label}</legend>'
        f'{_help(field)}{errors}<div class="choices">{_inputs(field, errors)}</div></fieldset>'
    )


def _inputs(field: BoundField, errors: str) -> str:
    """Return the inputs; what is wrong is said again at each, for who jumps straight to one."""
    if not errors or field.field.show_hidden_initial:
        return str(field)
    return str(field.as_widget(attrs={"aria-describedby": f"{field.auto_id}_error"}))


def _label(field: BoundField, *, is_optional: bool) -> str:
    if not is_optional:
        return as_written(field.label)
    return f'{as_written(field.label)} <span class="optional">{gettext("optional")}</span>'


def _help(field: BoundField) -> str:
    if not field.help_text:
        return ""
    place = as_written(f"{field.auto_id}_helptext")
    return f'<p class="help" id="{place}">{as_written(field.help_text)}</p>'
