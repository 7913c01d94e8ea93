"""What makes the fields of a fence system's figures: lengths, numbers, choices, yes or no."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from firm.forms.fields import FenceLengthField, LengthField, NumberField
from firm.forms.quantities import MeasuredField
from firm.measure import loads
from firm.measure.loads import Measure
from firm.measure.written import M_PER_FT, METRIC

LEAST_IN = 1 / 16


class BelowField(LengthField):
    """A length below the ground that is kept as a height: 3 in below is kept as -3."""

    def prepare_value(self, value: Any) -> Any:
        """Show what lies below as a plain length, what lies above behind a minus sign."""
        if not isinstance(value, int | float):
            return value
        text = self.written(abs(value))
        return text if value <= 0 else f"-{text}"

    def typed_figure(self, value: Any) -> Any:
        """Return inches above the ground."""
        text = str(value or "").strip().replace("\u2212", "-")
        inches = super().typed_figure(text.removeprefix("-"))
        if inches is None or text.startswith("-"):
            return inches
        return -inches


class PerFootField(LengthField):
    """A length for each foot, kept in inches; a metric firm types it for each metre."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(is_short=True, **kwargs)
        self.kept_by_in = 1 / M_PER_FT if self.units == METRIC else 1.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Figure:
    """One figure: its name in the definition, its label, and what makes its field."""

    name: str
    label: str
    make: Callable[..., forms.Field]
    help: str = ""
    blank: str = ""  # what an empty field means; without it the figure must be there


@dataclass(frozen=True, kw_only=True, slots=True)
class Section:
    """Figures that stand together, in the part of the definition they are kept in."""

    part: str
    title: str
    help: str
    figures: tuple[Figure, ...]


def length_of(high: float, *, low: float = 0.0) -> Callable[..., forms.Field]:
    def make(**kwargs: Any) -> forms.Field:
        return LengthField(is_short=True, min_in=low, max_in=high, **kwargs)

    return make


def feet_of(*, low: float = 0.0) -> Callable[..., forms.Field]:
    def make(**kwargs: Any) -> forms.Field:
        return FenceLengthField(min_in=low, max_in=12_000.0, **kwargs)

    return make


def measured(measure: Measure, high: float, *, low: float = 0.0) -> Callable[..., forms.Field]:
    def make(**kwargs: Any) -> forms.Field:
        return MeasuredField(measure=measure, least=low, most=high, **kwargs)

    return make


def number_of(high: float, *, low: float = 0.0) -> Callable[..., forms.Field]:
    def make(**kwargs: Any) -> forms.Field:
        widget = forms.TextInput(attrs={"inputmode": "decimal"})
        return NumberField(min_value=low, max_value=high, widget=widget, **kwargs)

    return make


def choice_of(choices: Mapping[str, str]) -> Callable[..., forms.Field]:
    def make(**kwargs: Any) -> forms.Field:
        shown = list(choices.items())
        return forms.ChoiceField(
            choices=shown if kwargs["required"] else [("", "-"), *shown], **kwargs
        )

    return make


class FlagField(forms.TypedChoiceField):
    """Yes, or no where nothing is said; no is kept as nothing."""

    def __init__(self, **kwargs: Any) -> None:
        choices = [("False", "No"), ("True", "Yes")]
        kwargs |= {"required": True, "choices": choices, "empty_value": None}
        super().__init__(coerce=lambda value: True if value == "True" else None, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        """Return the choice that stands for what is kept."""
        return value if isinstance(value, str) else str(bool(value))

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare what they mean: left out is no."""
        return bool(initial) is not (data == "True")


def flag(**kwargs: Any) -> forms.Field:
    return FlagField(**kwargs)


# A wall, which mills give in thousandths of an inch: finer than a tape.
wall = measured(loads.WALL, 24)


def per_foot_of(high: float) -> Callable[..., forms.Field]:
    def make(**kwargs: Any) -> forms.Field:
        return PerFootField(max_in=high, **kwargs)

    return make


def below(**kwargs: Any) -> forms.Field:
    return BelowField(is_short=True, max_in=48, **kwargs)
