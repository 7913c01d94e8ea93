"""Filters for unit costs, which keep up to four places."""

from decimal import Decimal

from django import template
from django.template.defaultfilters import floatformat

from estimating.engine.result import EstimateResult
from estimating.engine.sums import CostLine, PriceLine
from estimating.models import PriceItem
from estimating.selectors.price_words import part_words
from estimating.selectors.rates import rate_in_words, rate_label
from firm.measure import sold
from firm.selectors.profile import firm_units
from firm.templatetags.measures import unit_price

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
def item_price(item: PriceItem) -> str:
    """Write what a purchase unit costs; of what is sold by the foot, what a metre does."""
    return unit_price(sold.cost_shown(item.unit_cost, item.purchase_unit, firm_units()))


@register.simple_tag
def cost_quantity(line: CostLine) -> str:
    """Write how much of a cost there is; what is counted in feet as the firm measures."""
    units = firm_units()
    if sold.metric_in_one(line.unit, units) != 1:
        return sold.count_words(line.quantity, line.unit, units)
    return f"{floatformat(line.quantity, '-4')} {sold.unit_words(line.unit, units)}"


@register.simple_tag
def cost_of_one(line: CostLine) -> str:
    """Write what one costs; of what is counted in feet, what a metre costs a metric firm."""
    units = firm_units()
    cost = unit_cost(sold.cost_shown(line.unit_cost, line.unit, units))
    if sold.metric_in_one(line.unit, units) == 1:
        return cost
    return f"{cost} a {'metre' if line.unit != 'yd3' else 'cubic metre'}"


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
