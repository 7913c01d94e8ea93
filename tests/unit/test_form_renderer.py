"""Parts of forms written in Python: the same, tag for tag, as from Django's own templates."""

from typing import Any

import pytest
from django import forms
from django.forms.renderers import DjangoTemplates
from django.test.html import parse_html
from django.utils.safestring import mark_safe

from firm.form_renderer import WRITERS, PlainRenderer
from firm.templatetags.fields import field_group

SHARP = "5' \"<b>&amp;"
GROUPED = [("", "-"), ("Posts", [("a&b", SHARP), (2, mark_safe("<i>two</i>"))]), ("last", "Last")]


class Everything(forms.Form):
    """One field of each kind that is written in Python, and one that is not."""

    text = forms.CharField(label=SHARP, help_text="Like <em>5 ft</em>.")
    area = forms.CharField(widget=forms.Textarea(attrs={"rows": 3, "class": SHARP}))
    number = forms.IntegerField(required=False)
    email = forms.EmailField()
    secret = forms.CharField(widget=forms.PasswordInput(render_value=True))
    day = forms.DateField(widget=forms.DateInput(attrs={"type": "date", "hidden": False}))
    moment = forms.DateTimeField()
    hour = forms.TimeField()
    kept = forms.CharField(widget=forms.HiddenInput)
    yes = forms.BooleanField()
    choice = forms.ChoiceField(choices=GROUPED)
    several = forms.MultipleChoiceField(choices=GROUPED)
    radio = forms.ChoiceField(choices=GROUPED, widget=forms.RadioSelect)


FILLED: dict[str, Any] = {
    "text": SHARP, "area": f"\n{SHARP}", "number": "0", "email": "a@b.example", "secret": SHARP,
    "day": "2026-03-01", "moment": "2026-03-01 10:00", "hour": "10:00", "kept": SHARP, "yes": "on",
    "choice": "a&b", "several": ["2", "last"], "radio": "2",
}  # fmt: skip


@pytest.mark.parametrize("data", [None, {}, FILLED], ids=["fresh", "empty", "filled"])
def test_each_widget_and_error_is_written_as_django_s_templates_write_it(data: Any) -> None:
    ours = Everything(data, renderer=PlainRenderer())
    theirs = Everything(data, renderer=DjangoTemplates())
    for name in Everything.base_fields:
        assert parse_html(str(ours[name])) == parse_html(str(theirs[name])), name
        assert parse_html(str(ours[name].errors)) == parse_html(str(theirs[name].errors)), name


def test_every_kind_that_is_written_here_was_compared() -> None:
    used = {field.widget.template_name for field in Everything.base_fields.values()}
    lists = {"django/forms/errors/list/default.html", "django/forms/errors/list/ul.html"}
    assert set(WRITERS) - lists <= used


def test_a_field_ties_its_help_and_errors_to_its_input() -> None:
    form = Everything({}, renderer=PlainRenderer())
    text = field_group(form["text"])
    assert '<label for="id_text">5&#x27; &quot;&lt;b&gt;&amp;amp;</label>' in text
    assert '<p class="help" id="id_text_helptext">Like &lt;em&gt;5 ft&lt;/em&gt;.</p>' in text
    assert 'aria-describedby="id_text_helptext id_text_error"' in text
    assert 'class="field field-text has-error"' in text
    assert '<span class="optional">optional</span>' in field_group(form["number"])
    assert field_group(form["kept"]).startswith("<input")
    assert field_group(form["radio"]).startswith('<fieldset class="field has-error"')
    assert field_group(form["yes"]).index("<input") < field_group(form["yes"]).index("<label")
