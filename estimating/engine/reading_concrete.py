"""Reading how a firm's concrete may come to the site."""

from typing import get_args

from estimating.engine.catalog import ConcreteChoice, ConcreteRules
from estimating.engine.fields import Entry

MOST_SIZES = 10


def read_concrete(entry: Entry) -> ConcreteRules:
    """Return the ways for concrete; what is left out is not offered."""
    sizes = entry.items("bag_items", most=MOST_SIZES)
    for i, item in enumerate(sizes):
        if not isinstance(item, str):
            raise entry.refuse(f"bag_items[{i}]", "must be text.")
    rules = ConcreteRules(
        way=entry.choice("way", get_args(ConcreteChoice), "bags"),
        bag_items=tuple(sizes),
        mix_rate_yield_ft3=entry.number("mix_rate_yield_ft3", 0.0, high=10),
        cement_item=entry.text("cement_item", "", longest=80),
        cement_per_yd3=entry.number("cement_per_yd3", 0.0, high=100),
        aggregate_item=entry.text("aggregate_item", "", longest=80),
        aggregate_per_yd3=entry.number("aggregate_per_yd3", 0.0, high=10),
        mixer_item=entry.text("mixer_item", "", longest=80),
        batch_ft3=entry.number("batch_ft3", 0.0, high=100),
        ready_mix_item=entry.text("ready_mix_item", "", longest=80),
        short_load_item=entry.text("short_load_item", "", longest=80),
        short_load_yd3=entry.number("short_load_yd3", 0.0, high=100),
        least_load_yd3=entry.number("least_load_yd3", 0.0, high=100),
        truck_yd3=entry.number("truck_yd3", 0.0, high=100),
    )
    entry.finish()
    return rules
