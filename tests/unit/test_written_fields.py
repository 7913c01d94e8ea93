"""What people type as numbers and names, and what looks like one and is not."""

from collections.abc import Iterator
from importlib import import_module
from pkgutil import iter_modules

import pytest
from django import forms
from django.core.exceptions import ValidationError

import estimating.forms
import firm.forms
import scheduling.forms
from firm.forms.fields import (
    DecimalField,
    MoneyField,
    NumberField,
    PercentField,
    WholeNumberField,
    WrittenNumberMixin,
)
from firm.validators import plain_text

NUMBER_FIELDS = (NumberField, DecimalField, WholeNumberField, MoneyField, PercentField)
# Python's float(), int() and Decimal() read 1_000 and the Arabic-Indic digits as numbers (the
# language reference, "Numeric literals", and the library reference, float()).
ODD_NUMBERS = ("1_000", "1_0", "\u0661\u0662", "0x10", "inf", "nan", "1 000")


@pytest.mark.parametrize("kind", NUMBER_FIELDS)
@pytest.mark.parametrize("typed", ODD_NUMBERS)
def test_what_no_person_writes_as_a_number_is_refused(kind: type[forms.Field], typed: str) -> None:
    with pytest.raises(ValidationError):
        kind().clean(typed)


@pytest.mark.parametrize("kind", NUMBER_FIELDS)
def test_a_plain_number_is_read(kind: type[forms.Field]) -> None:
    assert kind().clean(" 12 ") == 12


@pytest.mark.parametrize(("typed", "number"), [("7.5", 7.5), (".5", 0.5), ("-3.", -3), ("+4", 4)])
def test_fractions_and_signs_are_read(typed: str, number: float) -> None:
    assert NumberField().clean(typed) == number


def modules() -> Iterator[str]:
    for package in (firm.forms, estimating.forms, scheduling.forms):
        yield from (f"{package.__name__}.{each.name}" for each in iter_modules(package.__path__))


def test_every_declared_number_field_refuses_them() -> None:
    declared = [
        (form.__name__, name, field)
        for module in modules()
        for form in vars(import_module(module)).values()
        if isinstance(form, type) and issubclass(form, forms.BaseForm)
        for name, field in getattr(form, "base_fields", {}).items()
        if isinstance(field, forms.IntegerField | forms.DecimalField)
    ]
    assert len(declared) > 20
    assert [each[:2] for each in declared if not isinstance(each[2], WrittenNumberMixin)] == []


# The property Bidi_Control (Unicode Standard Annex 9, table 1, and PropList.txt).
DIRECTIONS = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


@pytest.mark.parametrize("letter", DIRECTIONS, ids=lambda letter: f"U+{ord(letter):04X}")
def test_a_name_that_turns_its_own_direction_is_refused(letter: str) -> None:
    with pytest.raises(ValidationError, match="direction of writing"):
        plain_text(f"Fence {letter}ecneF")


def test_letters_of_other_scripts_are_plain_words() -> None:
    plain_text("Łódź, שלום, Ünal")
