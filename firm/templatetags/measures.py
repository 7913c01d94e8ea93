"""Filters that write lengths and money the way people read them."""

from collections.abc import Callable
from decimal import Decimal

from django import template
from django.template.defaultfilters import floatformat

from firm.measure import loads, sold, written
from firm.measure.money import format_money
from firm.selectors import goods
from firm.selectors.profile import firm_units

register = template.Library()


def _written(value: float | str | None, write: Callable[[float, str], str]) -> str:
    return "" if value is None or value == "" else write(float(value), firm_units())


@register.filter
def ft_in(value: float | str | None) -> str:
    """Write inches as a fence's length: in feet and inches, or in metres for a metric firm."""
    return _written(value, written.long_length)


@register.filter
def inches(value: float | str | None) -> str:
    """Write inches to the sixteenth, or millimetres for a metric firm."""
    return _written(value, written.short_length)


@register.filter
def feet(value: float | str | None) -> str:
    """Write a length kept in feet, in feet or in metres."""
    return _written(value, written.feet_of_fence)


@register.filter
def cubic_yd(value: float | str | None) -> str:
    """Write a volume kept in cubic yards, in those or in cubic metres."""
    return _written(value, written.cubic_yards)


@register.filter
def cubic_ft(value: float | str | None) -> str:
    """Write a volume kept in cubic feet, in those or in litres."""
    return _written(value, written.cubic_feet)


@register.filter
def temperature(value: float | str | None) -> str:
    """Write the air kept in degrees Fahrenheit, in those or in Celsius."""
    return _written(value, written.temperature)


@register.filter
def wind_speed(value: float | str | None) -> str:
    """Write a speed of wind kept in miles an hour, in those or in metres a second."""
    return _written(value, loads.WIND_SPEED.exact)


@register.filter
def pressure(value: float | str | None) -> str:
    """Write a pressure kept in pounds on a square foot, in those or in kilopascals."""
    return _written(value, loads.PRESSURE.written)


@register.filter
def force(value: float | str | None) -> str:
    """Write a force kept in pounds, in those or in kilonewtons."""
    return _written(value, loads.FORCE.written)


@register.filter
def moment(value: float | str | None) -> str:
    """Write a moment kept in pound-feet, in those or in kilonewton-metres."""
    return _written(value, loads.MOMENT.written)


@register.simple_tag
def counted(value: float, unit: str) -> str:
    """Write how much of an item is needed: feet of it as the firm measures, else as counted."""
    if sold.metric_in_one(unit, firm_units()) != 1:
        return sold.count_words(value, unit, firm_units())
    return f"{floatformat(value, -2)} {unit}"


@register.simple_tag
def bought(units: float, purchase_unit: str) -> str:
    """Write what is bought: 4 x bag; a length sold by the foot as a length."""
    if purchase_unit in written.FEET_WORDS:
        return written.feet_of_fence(units, firm_units())
    if purchase_unit == sold.BY_THE_METRE:
        return sold.count_words(units, purchase_unit, firm_units())
    return f"{units:g} \u00d7 {sold.unit_words(purchase_unit, firm_units())}"


@register.filter
def sold_by(unit: str) -> str:
    """Write what goods are sold by, as the firm measures: m for ft."""
    return sold.unit_words(unit, firm_units())


@register.filter
def count_of(count: int, unit: str) -> str:
    """Write a count of what is bought: metres of what is kept in feet, in a metric firm."""
    return f"{sold.count_shown(Decimal(count), unit, firm_units())}"


@register.filter
def told(count: int, unit: str) -> str:
    """Write a count in a sentence: 4, or 1.22 m of what a metric firm counts by the metre."""
    return goods.told(count, unit)


@register.filter
def per_length(price_per_ft: Decimal | str | None) -> str:
    """Write a price for a foot, or what it comes to for a metre."""
    if price_per_ft is None or price_per_ft == "":
        return ""
    is_metric = firm_units() == written.METRIC
    return format_money(Decimal(price_per_ft) / (sold.M_PER_FT if is_metric else 1))


@register.simple_tag
def fence_unit() -> str:
    """Return the unit that lengths of fence are written in by hand."""
    return "m" if firm_units() == written.METRIC else "ft"


@register.simple_tag
def units_in_use() -> str:
    """Return "us" or "metric", for words of a template that differ."""
    return firm_units()


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
