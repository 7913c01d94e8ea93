"""Form fields for lengths, money, percentages and dates, as people type them."""

import datetime as dt
import math
import re
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _

from firm.errors import Refusal
from firm.measure.lengths import IN_PER_FT, MM_PER_IN, MM_PER_M, LengthError, parse_length
from firm.measure.written import METRIC, long_length, on_reading_grid, short_length
from firm.selectors.languages import spoken
from firm.selectors.profile import firm_units
from firm.validators import plain_text

LIKELY_YEARS = range(1900, 2200)


class KeptFigureMixin(forms.Field):
    """A figure that is shown rounded, or in another unit: sent back as shown it stays as it is."""

    _bound: BoundField | None = None

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> BoundField:
        """Return the bound field, which knows what was shown."""
        self._bound = super().get_bound_field(form, field_name)
        return self._bound

    def clean(self, value: Any) -> Any:
        """Return the figure, or None for an empty field."""
        kept = self._bound.initial if self._bound else None
        is_number = isinstance(kept, int | float) and not isinstance(kept, bool)
        if is_number and str(value or "").strip() == self.prepare_value(kept):
            return kept
        return self.typed_figure(value)

    def typed_figure(self, value: Any) -> Any:
        """Return the figure that was typed."""
        return super().clean(value)


class LengthField(KeptFigureMixin, forms.CharField):
    """A length, kept in inches as finely as a tape is read: 8' 0 1/2", 8.5 ft, 96, 2.45 m.

    `units` says what a bare number means and how a length is shown: the firm's own where left
    out. A short one, such as a depth or an opening, is shown in inches or millimetres; others
    in feet and inches or in metres. What is shown is read back as the same length.
    """

    kept_by_in = 1.0
    bare = ""  # the unit of a number that stands alone; empty for the firm's own

    def __init__(
        self,
        *,
        units: str = "",
        is_short: bool = False,
        metric_help_text: str = "",
        min_in: float | None = 0.0,
        max_in: float | None = None,
        **kwargs: Any,
    ) -> None:
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs)
        self._units = units
        self.is_short = is_short
        self.metric_help_text = metric_help_text
        self.min_in = min_in
        self.max_in = max_in
        self.widget.attrs.setdefault("autocomplete", "off")
        # The page asks how the text is read and says it beside the field (static/js/app.js).
        self.widget.attrs.setdefault("data-length", self.bare)

    @property
    def units(self) -> str:
        """The units given, or else the firm's."""
        return self._units or firm_units()

    @units.setter
    def units(self, units: str) -> None:
        self._units = units

    def read(self, text: str) -> float:
        """Return the length that a text names, on the grid that a tape is read to.

        Raises:
            LengthError: it names none, or could name two.
        """
        return on_reading_grid(parse_length(text, units=self.units), self.units)

    def written(self, inches: float) -> str:
        """Return a length as this field shows it."""
        return (short_length if self.is_short else long_length)(inches, self.units)

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> BoundField:
        """Return the field with the help that fits the firm's units."""
        if self.metric_help_text and self.units == METRIC:
            self.help_text = self.metric_help_text
        return super().get_bound_field(form, field_name)

    def prepare_value(self, value: Any) -> Any:
        """Show inches in the firm's units; leave what was typed as it was typed."""
        is_number = isinstance(value, int | float)
        return self.written(value * self.kept_by_in) if is_number else value

    def typed_figure(self, value: Any) -> Any:
        """Return inches, or what else the length is kept by, or None for an empty field."""
        text = super().typed_figure(value)
        if not text:
            return None
        try:
            inches = self.read(text)
        except LengthError as error:
            raise ValidationError(spoken(error.args[0]), code="length") from error
        if self.min_in is not None and inches < self.min_in:
            raise ValidationError(
                _("This must be {least} or more, not {text}.").format(
                    least=self.written(self.min_in), text=text
                ),
                code="too_short",
            )
        if self.max_in is not None and inches > self.max_in:
            raise ValidationError(
                _("This must be {most} or less, not {text}.").format(
                    most=self.written(self.max_in), text=text
                ),
                code="too_long",
            )
        return inches / self.kept_by_in

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare lengths, not spellings."""
        try:
            typed = self.read(str(data or "")) / self.kept_by_in
        except LengthError:
            return super().has_changed(self.prepare_value(initial), data)
        if isinstance(initial, int | float) and math.isclose(typed, initial, abs_tol=1e-6):
            return False
        return super().has_changed(self.prepare_value(initial), data)


class FenceLengthField(LengthField):
    """A rough length of fence, kept in feet.

    A bare number means feet, or metres in a metric firm.
    """

    kept_by_in = IN_PER_FT
    bare = "ft"

    def read(self, text: str) -> float:
        """Return inches; feet are what a bare number means to a firm that measures in them."""
        bare = "" if self.units == METRIC else self.bare
        return on_reading_grid(parse_length(text, units=self.units, bare=bare), self.units)

    def written(self, inches: float) -> str:
        """Return feet or metres as this field shows them."""
        if self.units == METRIC:
            return f"{inches * MM_PER_IN / MM_PER_M:.2f} m"
        return f"{round(inches / IN_PER_FT, 2):g} ft"


# 12,50 must not be read as 1250: a comma counts only where thousands are parted.
COMMAS_PART_THOUSANDS = re.compile(r"[-+]?\s*\d{1,3}(,\d{3})+(\.\d*)?")
COMMA_PARTS_THOUSANDS = "Type an amount such as 1250.00 or 1,250.00; cents come after a point."


# What a number may look like. Python's own readers take 1_000 and digits of any script as well.
WRITTEN_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?", re.ASCII | re.IGNORECASE)


class WrittenNumberMixin(forms.Field):
    """Refuses in a field of numbers what no person writes as one, such as 1_000."""

    def to_python(self, value: Any) -> Any:
        """Return the number that a text names."""
        text = value.strip() if isinstance(value, str) else ""
        if text and not WRITTEN_NUMBER.fullmatch(text):
            raise ValidationError(self.error_messages["invalid"], code="invalid")
        return super().to_python(value)


class NumberField(WrittenNumberMixin, forms.FloatField):
    """A number."""


class DecimalField(WrittenNumberMixin, forms.DecimalField):
    """A number kept to the digit."""


class WholeNumberField(WrittenNumberMixin, forms.IntegerField):
    """A whole number."""


MODEL_NUMBERS = (
    (models.IntegerField, WholeNumberField),
    (models.FloatField, NumberField),
    (models.DecimalField, DecimalField),
)


def written_numbers(field: models.Field[Any, Any], **kwargs: Any) -> forms.Field | None:
    """Return a model's field as forms show it: for `formfield_callback` of a form's Meta."""
    for model_kind, kind in MODEL_NUMBERS:
        if isinstance(field, model_kind) and not field.choices:
            kwargs.setdefault("form_class", kind)
    shown: forms.Field | None = field.formfield(**kwargs)
    return shown


class MoneyField(DecimalField):
    """An amount of money; a dollar sign and thousands commas may be typed."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("decimal_places", 2)
        kwargs.setdefault("max_digits", 12)
        kwargs.setdefault("min_value", Decimal(0))
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal"}))
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> Any:
        """Return the amount without the signs people type around it."""
        if isinstance(value, str):
            value = value.replace("$", "").strip()
            if "," in value and not COMMAS_PART_THOUSANDS.fullmatch(value):
                raise ValidationError(COMMA_PARTS_THOUSANDS, code="invalid")
            value = value.replace(",", "")
        try:
            return super().to_python(value)
        except (ValidationError, InvalidOperation) as error:
            raise ValidationError("Type an amount such as 1250.00.", code="invalid") from error


class PercentField(DecimalField):
    """A percentage; a per cent sign may be typed."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("decimal_places", 2)
        kwargs.setdefault("max_digits", 6)
        kwargs.setdefault("min_value", Decimal(0))
        kwargs.setdefault("max_value", Decimal(95))
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal"}))
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> Any:
        """Return the number without its sign."""
        if isinstance(value, str):
            value = value.replace("%", "").strip()
        try:
            return super().to_python(value)
        except ValidationError as error:
            raise ValidationError("Type a percentage such as 7.25.", code="invalid") from error


def _likely_year(value: dt.date) -> None:
    """Refuse a slip such as 0026 or 20226: dates counted from it leave the calendar."""
    if value.year not in LIKELY_YEARS:
        raise ValidationError(
            f"The year {value.year} can't be right: type four digits such as 2026.", code="year"
        )


class DateField(forms.DateField):
    """A day, picked or typed."""

    default_validators = [_likely_year]  # noqa: RUF012 - the base class calls it a list

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        super().__init__(**kwargs)


class DateTimeField(forms.DateTimeField):
    """A day and a time of day."""

    default_validators = [_likely_year]  # noqa: RUF012 - the base class calls it a list

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault(
            "widget",
            forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        )
        super().__init__(**kwargs)


class PlainTextMixin:
    """Refuses markup in every text field of the form it is mixed into, naming the field."""

    fields: dict[str, forms.Field]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            is_text = isinstance(field, forms.CharField) and "password" not in name
            if is_text and plain_text not in field.validators:
                field.validators = [*field.validators, plain_text]


def add_refusal(form: forms.BaseForm, refusal: Refusal) -> None:
    """Show a service's refusal at the field it names, or above the form, as the page speaks."""
    field = refusal.field if refusal.field in form.fields else None
    form.add_error(field, spoken(refusal.message))
