"""Production rates: what holds on a day, what held before, what is still to come or missing."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from estimating.models import FenceSystem, ProductionRate
from estimating.selectors.by_foot import is_by_foot, is_by_yard
from firm.measure import loads
from firm.measure.loads import plain_number
from firm.measure.units import IN_PER_FT
from firm.measure.written import METRIC, feet_of_fence, short_length
from firm.models import JobSite
from firm.selectors.profile import firm_units

HOURS, LIMITS = ProductionRate.Kind.HOURS, ProductionRate.Kind.LIMITS
# Keys that do not read well word by word.
LABELS = {
    "clean_up.yard_load": "Around it: loading at the yard, once a job",
    "crew.large_factor": "Crew: what waiting in a large one makes of the hours",
    "crew.large_from": "Crew: counts as large from, people",
    "crew.large_pays_ft": "Crew: a large one pays from this much fence",
    "dig.again": "Dig: a hole that rain filled, again",
    "dig.frost_extra": "Dig: a frozen crust, on top of the hole",
    "dig.rock_hole": "Dig: a hole in solid rock",
    "mix.long_barrow_factor": "Mix: what a long way with the barrow makes of it",
    "setup.phase": "Around it: setting up and tidying, each visit",
    "setup.phase_crew": "Around it: the crew that setting up is counted for, people",
    "slope.hand_factor": "Slope: what ground too steep for machines makes of the hours",
    "slope.hand_pct": "Slope: dug by hand when steeper than",
    "slope.steep_factor": "Slope: what steep ground makes of the hours",
    "slope.steep_pct": "Slope: steep when over",
    "travel.paid_hour": "Around it: an hour on the road is paid as",
}
# Rates for a foot or a cubic yard as a metric firm reads them; its own keep their key's words.
METRIC_LABELS = {
    "hang.chain_link_ft_4": "Hang: a metre of chain link, 1.2 m tall",
    "hang.chain_link_ft_6": "Hang: a metre of chain link, 1.8 m tall",
    "hang.chain_link_slats_ft_6": "Hang: a metre of chain link with slats, 1.8 m tall",
    "hang.woven_wire_ft": "Hang: a metre of woven wire",
    "layout.foot": "Layout: a metre",
    "removal.foot": "Removal: a metre",
    "mix.ready_mix_yd3": "Mix: a cubic metre of ready mix",
    "spoil.haul_yd3": "Spoil: hauling a cubic metre away",
    "spoil.spread_yd3": "Spoil: spreading a cubic metre",
}
FACTOR = "_factor"
H_A_FOOT = loads.HOURS_OF_LENGTH.us
H_A_YARD = loads.HOURS_OF_VOLUME.us
OF_MEASURES = {H_A_FOOT: loads.HOURS_OF_LENGTH, H_A_YARD: loads.HOURS_OF_VOLUME}


@dataclass(frozen=True, kw_only=True, slots=True)
class ListedRate:
    """One rate with its history: the row that rules today, those before it, and those to come.

    Without a row of today or later it is missing: something asks for it and nothing answers.
    """

    kind: str
    key: str
    label: str
    unit: str
    current: ProductionRate | None
    earlier: tuple[ProductionRate, ...]
    planned: tuple[ProductionRate, ...]


def listed_rates(*, today: dt.date) -> list[ListedRate]:
    """Return every rate in the order of its label; two queries."""
    by_key: dict[tuple[str, str], list[ProductionRate]] = {(HOURS, key): [] for key in _asked_for()}
    for rate in ProductionRate.objects.order_by("effective_from"):
        by_key.setdefault((rate.kind, rate.key), []).append(rate)
    listed = [_listed(kind, key, rows, today) for (kind, key), rows in by_key.items()]
    return sorted(listed, key=lambda rate: (rate.kind != HOURS, rate.kind, rate.label))


def listed_rate(kind: str, key: str, *, today: dt.date) -> ListedRate | None:
    """Return one rate, or None where there is none and nothing asks for it."""
    rows = list(ProductionRate.objects.filter(kind=kind, key=key).order_by("effective_from"))
    if not rows and (kind != HOURS or key not in _asked_for()):
        return None
    return _listed(kind, key, rows, today)


def _listed(kind: str, key: str, rows: Iterable[ProductionRate], today: dt.date) -> ListedRate:
    begun = [row for row in rows if row.effective_from <= today]
    return ListedRate(
        kind=kind,
        key=key,
        label=rate_label(key, kind),
        unit=rate_unit(kind, key),
        current=begun[-1] if begun else None,
        earlier=tuple(reversed(begun[:-1])),
        planned=tuple(row for row in rows if row.effective_from > today),
    )


def _asked_for() -> set[str]:
    """Return the keys that digging and the fence systems in use ask for."""
    definitions = FenceSystem.objects.filter(is_active=True).values_list("definition", flat=True)
    dug = {f"dig.{soil}.{way}" for soil in JobSite.Soil for way in JobSite.DigMethod}
    return dug | {key for each in definitions for key in each.get("labor", {}).values()}


def rate_label(key: str, kind: str = HOURS) -> str:
    """Return a rate's key in words: dig.normal.hand as "Dig: normal, hand"."""
    if key in LABELS:
        return LABELS[key]
    if kind == ProductionRate.Kind.SWELL_PCT:
        return f"Swell: {key.replace('_', ' ')}"
    if key.startswith("access."):
        machine = key.removeprefix("access.").removesuffix("_in").replace("_", " ")
        return f"Access: a way in for the {machine}"
    if kind == HOURS and is_by_foot(key) and firm_units() == METRIC:
        return METRIC_LABELS.get(key) or f"{_label_of(key)}, for a metre"
    if kind == HOURS and is_by_yard(key) and firm_units() == METRIC:
        plain = _label_of(key.replace("yd3", "")).rstrip()
        return METRIC_LABELS.get(key) or f"{plain}, for a cubic metre"
    return _label_of(key)


def _label_of(key: str) -> str:
    first, *rest = (part.replace("_", " ") for part in key.split("."))
    return f"{first.capitalize()}: {', '.join(rest)}" if rest else first.capitalize()


def rate_unit(kind: str, key: str) -> str:
    """Return what a rate is counted in: h, h a foot, times, %, people, or a length in in or ft."""
    if kind == HOURS and is_by_foot(key):
        return H_A_FOOT
    if kind == HOURS and is_by_yard(key):
        return H_A_YARD
    if kind == HOURS:
        return "times" if key.endswith(FACTOR) else "h"
    if kind == LIMITS:
        ending = key.rpartition("_")[2]
        return {"in": "in", "ft": "ft", "pct": "%"}.get(ending, "people")
    return "%"


def rate_in_words(value: float, unit: str, units: str) -> str:
    """Return a rate with its unit, lengths as the firm measures."""
    if unit == "in":
        return short_length(value, units)
    if unit == "ft":
        return feet_of_fence(value, units)
    if unit in OF_MEASURES:
        return f"{plain_number(OF_MEASURES[unit].shown(value, units), 4)} h"
    return f"{value:g} {unit}"


def inches_in(unit: str) -> float:
    """Return the inches in a limit's unit of length, or 0 where it is none."""
    return {"in": 1.0, "ft": IN_PER_FT}.get(unit, 0.0)
