"""Filters that call the engine's kinds by the words a fence office uses."""

from django import template

from estimating.engine.result import Quantity, Section
from estimating.engine.trace import Step
from estimating.selectors import by_foot
from estimating.selectors.place_words import in_words
from firm.measure import loads
from firm.measure.written import long_length
from firm.selectors.profile import firm_units

register = template.Library()

END_WORDS = {
    "shared_post": "post of another line",
    "existing_post": "post that stands already",
    "closing": "first post",
}
ROUTING_WORDS = {
    "line": "straight through",
    "end": "one face",
    "corner": "corner",
    "three_way": "three faces",
    "blank": "no face",
    "none": "not routed",
}
DIVIDED_WORDS = {
    "equal": "equal on centre",
    "full_and_short": "full bays and a short one",
    "most_even": "most even clear widths",
    "fewest_cuts": "fewest cut bays",
    "no_plan": "no plan keeps every limit: ordinary bays, see the findings",
}


@register.filter
def places_in_words(text: str) -> str:
    """Say in words where something stands: the engine's paths are for files."""
    return in_words(loads.in_units(text, firm_units()))


@register.filter
def in_units(text: str) -> str:
    """Write the figures of an engine's sentence as the firm measures."""
    return loads.in_units(text, firm_units())


@register.simple_tag
def hours_step(step: Step) -> str:
    """Write how hours come about, rates for a foot as the firm measures."""
    return by_foot.hours_words(step.rule, step.inputs, firm_units())


@register.simple_tag
def quantity_step(step: Step, quantity: Quantity) -> str:
    """Write a step of a quantity, what goes by the foot as the firm measures."""
    units = firm_units()
    rule = by_foot.counted_words(step.rule, unit=quantity.unit, units=units, driver=quantity.driver)
    return f"{rule}: {by_foot.amount_words(step.inputs, unit=quantity.unit, units=units)}"


@register.filter
def end_words(kind: str) -> str:
    """Say what a section runs to."""
    return END_WORDS.get(kind, kind.replace("_", " "))


@register.filter
def routing_words(routing: str) -> str:
    """Say which faces of a post take rails."""
    return ROUTING_WORDS.get(routing, routing.replace("_", " "))


@register.filter
def bays_why(section: Section) -> str:
    """Say in a sentence why a section's bays are as they are; nothing of estimates before it."""
    words = DIVIDED_WORDS.get(section.divided, "")
    if not section.moved_off:
        return words
    units = firm_units()
    off = [
        f"the {each.what} at {long_length(each.station_in, units)}" for each in section.moved_off
    ]
    listed = f"{', '.join(off[:-1])} and {off[-1]}" if len(off) > 1 else off[0]
    return f"{words}, posts moved off {listed}"
