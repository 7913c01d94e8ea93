"""Reading what a check of pool barriers needs: a system's infill, the firm's usual rule set."""

from dataclasses import fields
from typing import get_args

from estimating.engine.fields import Entry
from estimating.engine.pool import Barrier, Infill, PoolRules, RailsShow

LARGEST_IN = 240.0


def read_barrier(entry: Entry) -> Barrier:
    """Return a fence system's infill as a pool barrier meets it."""
    barrier = Barrier(
        infill=entry.choice("infill", get_args(Infill)),
        opening_in=entry.number("opening_in", 0.0, high=LARGEST_IN),
        rails_apart_in=entry.number("rails_apart_in", 0.0, high=LARGEST_IN),
        rails_show=entry.choice("rails_show", get_args(RailsShow), "none"),
    )
    entry.finish()
    return barrier


def read_pool_rules(entry: Entry) -> PoolRules:
    """Return a rule set; a figure that is left out is the one seen most."""
    figures = {
        each.name: entry.number(each.name, getattr(PoolRules(), each.name), high=LARGEST_IN)
        for each in fields(PoolRules)
    }
    entry.finish()
    return PoolRules(**figures)
