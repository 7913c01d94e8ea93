"""Filters for unit costs, which keep up to four places."""

from decimal import Decimal

from django import template
from django.template.defaultfilters import floatformat

from estimating.engine.result import EstimateResult
from estimating.engine.sums import CostLine, PriceLine
from estimating.selectors.price_words import part_words
from estimating.selectors.rates import rate_in_words, rate_label
from firm.measure.written import FEET_WORDS, M_PER_FT, METRIC, feet_of_fence
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


@register.simple_tag
def cost_quantity(line: CostLine) -> str:
    """Write how much of a cost there is; what is counted in feet as the firm measures."""
    if line.unit in FEET_WORDS and firm_units() == METRIC:
        return feet_of_fence(float(line.quantity), METRIC)
    return f"{floatformat(line.quantity, '-4')} {line.unit}"


@register.simple_tag
def cost_of_one(line: CostLine) -> str:
    """Write what one costs; of what is counted in feet, what a metre costs a metric firm."""
    if line.unit in FEET_WORDS and firm_units() == METRIC:
        return f"{unit_cost(line.unit_cost / Decimal(str(M_PER_FT)))} a metre"
    return unit_cost(line.unit_cost)


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
