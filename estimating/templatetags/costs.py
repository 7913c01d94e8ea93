"""Filters for unit costs, which keep up to four places."""

from decimal import Decimal

from django import template

register = template.Library()
CENTS = 2


@register.filter
def unit_cost(value: Decimal | str | None) -> str:
    """Write a unit cost with two places, and up to four where they are used."""
    if value is None or value == "":
        return ""
    text = f"{Decimal(value):,.4f}"
    while text.endswith("0") and len(text.partition(".")[2]) > CENTS:
        text = text[:-1]
    return f"${text}"
