"""Filters for unit costs, which keep up to four places."""

from decimal import Decimal

from django import template

from estimating.engine.result import EstimateResult
from estimating.engine.sums import PriceLine
from estimating.selectors.price_words import part_words
from estimating.selectors.rates import rate_in_words, rate_label
from firm.selectors.profile import firm_units

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


@register.filter
def rate_name(rule: str) -> str:
    """Write the key of a production rate in words."""
    return rate_label(rule)


@register.simple_tag
def rate_words(value: float, unit: str) -> str:
    """Write a production rate or a limit with its unit, lengths as the firm measures."""
    return rate_in_words(value, unit, firm_units())


@register.filter
def price_words(part: PriceLine, result: EstimateResult) -> str:
    """Write what a part of the price is for, its measures as the firm measures."""
    return part_words(part, result, firm_units())
