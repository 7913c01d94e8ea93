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


@register.filter
def unit_price(value: Decimal | str | None) -> str:
    """Write a unit price to the cent, or to as many of its four places as it needs."""
    if value is None or value == "":
        return ""
    exact = Decimal(value).normalize()
    places = max(2, -int(exact.as_tuple().exponent))
    return f"${exact:,.{places}f}"
