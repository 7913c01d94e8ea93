"""Filters that write lengths and money the way people read them."""

from decimal import Decimal

from django import template

from firm.measure.lengths import format_ft_in, format_in
from firm.measure.money import format_money

register = template.Library()


@register.filter
def ft_in(value: float | str | None) -> str:
    """Write inches as feet and inches: 24 ft 3 1/2 in style, to the sixteenth."""
    return "" if value is None or value == "" else format_ft_in(float(value))


@register.filter
def inches(value: float | str | None) -> str:
    """Write inches to the sixteenth."""
    return "" if value is None or value == "" else format_in(float(value))


@register.filter
def money(value: Decimal | str | None) -> str:
    """Write an amount of money."""
    return "" if value is None or value == "" else format_money(Decimal(value))
