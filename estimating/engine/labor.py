"""Labour hours by phase, machine days and trips, each from the firm's production rates."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import get_args

from estimating.engine.catalog import Catalog
from estimating.engine.digging import dig_works
from estimating.engine.footings import Footings
from estimating.engine.hanging import hang_works
from estimating.engine.pace import Pace, crew_finding, pace_on
from estimating.engine.result import Finding, Hours, LineLayout, Phase, Work
from estimating.engine.setting import set_works
from estimating.engine.site import Conditions
from estimating.engine.trace import Step
from firm.measure.units import IN_PER_FT, round_up_to_half

PHASES: tuple[Phase, ...] = get_args(Phase)
DIG_AND_SET: tuple[Phase, ...] = ("layout", "dig", "set")
MIN_PER_HOUR = 60.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Labor:
    """The job's hours by phase, and the works that they add up.

    `left_out_hours` are what hanging the posts-only lines too would take, with a visit's set-up.
    """

    works: tuple[Work, ...]
    hours: tuple[Hours, ...]
    equipment_days: float
    trips: int
    left_out_hours: float
    findings: tuple[Finding, ...]


def work_out(
    lines: Sequence[LineLayout],
    catalog: Catalog,
    conditions: Conditions,
    footings: Footings,
    *,
    hand_set: Mapping[str, Decimal],
    has_typed: bool = False,
) -> Labor:
    """Return the hours of the job; `hand_set` holds hours per phase that a person decided."""
    rules = catalog.rules
    pace = pace_on(lines, catalog.rates, rules, conditions, footings)
    trips = conditions.trips or _needed_trips(lines, has_typed=has_typed)
    works = [work for line in lines for work in _works_of(line, catalog, pace)]
    works += dig_works(footings, conditions, pace)
    works += _mix_works(footings, conditions, pace)
    works += _job_works(lines, footings, conditions, pace, crew_size=rules.crew_size)
    works += _travel_works(conditions, pace, trips=trips, crew_size=rules.crew_size)
    works = [work for work in works if work.count > 0]
    hours = _by_phase(works, hand_set)
    return Labor(
        works=tuple(works),
        hours=hours,
        equipment_days=_equipment_days(hours, catalog, conditions),
        trips=trips,
        left_out_hours=_left_out_hours(lines, catalog, pace),
        findings=(*_missing_rates(works, pace), *crew_finding(pace, rules.crew_size)),
    )


def _works_of(line: LineLayout, catalog: Catalog, pace: Pace) -> list[Work]:
    if line.scope == "removal":
        return _removal_works(line, pace)
    system = catalog.systems[line.system]
    works = [
        pace.work("layout", "layout.foot", _length_ft(line), "ft", line_id=line.line_id),
        *set_works(line, system, pace),
    ]
    if line.scope == "whole_fence":
        works += hang_works(line, system, pace)
    return works


def _length_ft(line: LineLayout) -> float:
    """Return the length that is walked, gates included."""
    return line.length_in / IN_PER_FT


def _removal_works(line: LineLayout, pace: Pace) -> list[Work]:
    line_id = line.line_id
    return [
        pace.work("removal", "removal.foot", _length_ft(line), "ft", line_id=line_id),
        pace.work("removal", "removal.footing", line.old_footings, "old footing", line_id=line_id),
    ]


def _left_out_hours(lines: Sequence[LineLayout], catalog: Catalog, pace: Pace) -> float:
    bare = [line for line in lines if line.scope == "posts_only"]
    works = [work for line in bare for work in hang_works(line, catalog.systems[line.system], pace)]
    if bare and not any(line.scope == "whole_fence" for line in lines):
        set_up = pace.set_up(catalog.rules.crew_size)
        works.append(pace.work("clean_up", "setup.phase", 1.0, "visit", factors=set_up))
    return sum(work.labor_hours for work in works)


def _mix_works(footings: Footings, conditions: Conditions, pace: Pace) -> list[Work]:
    barrow = (
        (pace.factor("mix.long_barrow_factor", "a long way with the barrow"),)
        if conditions.long_barrow
        else ()
    )
    posts = [each.post.number for each in footings.post_holes if each.hole.concrete_ft3 > 0]
    return [
        pace.work(
            "set",
            each.rate,
            each.count,
            each.unit,
            posts=posts,
            factors=barrow if each.is_wheeled else (),
        )
        for each in footings.mixing
    ]


def _job_works(
    lines: Sequence[LineLayout],
    footings: Footings,
    conditions: Conditions,
    pace: Pace,
    *,
    crew_size: int,
) -> list[Work]:
    spoil_rate = "spoil.haul_yd3" if conditions.spoil == "haul" else "spoil.spread_yd3"
    posts = [each.post.number for each in footings.post_holes]
    spoil_yd3 = footings.concrete.spoil_loose_yd3
    visits = float(_phases_on_site(lines))
    set_up = pace.set_up(crew_size)
    return [
        pace.work("layout", "layout.job", float(bool(posts)), "job"),
        pace.work("clean_up", spoil_rate, spoil_yd3, "yd3", posts=posts),
        pace.work("clean_up", "setup.phase", visits, "visit", factors=set_up),
        pace.work("clean_up", "clean_up.yard_load", float(bool(lines)), "job"),
    ]


def _travel_works(conditions: Conditions, pace: Pace, *, trips: int, crew_size: int) -> list[Work]:
    """Return the crew's hours on the road, where the office entered how far it is."""
    hours = trips * crew_size * conditions.drive_min / MIN_PER_HOUR
    note = f"{trips} trips x {crew_size} people x {conditions.drive_min:g} min there and back"
    return [pace.work("clean_up", "travel.paid_hour", hours, "h", note=note)]


def _phases_on_site(lines: Sequence[LineLayout]) -> int:
    """Return how often the crew sets up: to dig and set, to hang, to take an old fence out."""
    scopes = {line.scope for line in lines}
    dig_and_set = bool(scopes & {"whole_fence", "posts_only"})
    return dig_and_set + ("whole_fence" in scopes) + ("removal" in scopes)


def _needed_trips(lines: Sequence[LineLayout], *, has_typed: bool) -> int:
    """Return the trips the work needs: concrete hardens between setting and hanging."""
    if any(line.scope == "whole_fence" for line in lines):
        return 2
    return 1 if lines or has_typed else 0


def _by_phase(works: Sequence[Work], hand_set: Mapping[str, Decimal]) -> tuple[Hours, ...]:
    """Return the hours of every phase that has any."""
    return tuple(
        _phase_hours(phase, [work for work in works if work.phase == phase], hand_set)
        for phase in PHASES
        if phase in hand_set or any(work.phase == phase for work in works)
    )


def _phase_hours(phase: Phase, works: Sequence[Work], hand_set: Mapping[str, Decimal]) -> Hours:
    steps = [_step(work) for work in works]
    hours = sum(work.labor_hours for work in works)
    if phase in hand_set:
        steps.append(
            Step(rule="set by hand", inputs=f"{hand_set[phase]} h in place of {hours:.2f} h")
        )
        hours = float(hand_set[phase])
    return Hours(phase=phase, labor_hours=hours, trace=tuple(steps), works=tuple(works))


def _step(work: Work) -> Step:
    place = f"line {work.line_id}: " if work.line_id else ""
    factors = "".join(f" x {each.value:g} for {each.reason}" for each in work.factors)
    note = f" ({work.note})" if work.note else ""
    since = f", since {work.valid_from}" if work.valid_from else ""
    return Step(
        rule=work.rate,
        inputs=(
            f"{place}{work.count:.4g} x {work.hours_each:g} h{factors}"
            f" = {work.labor_hours:.2f} h{note}"
        ),
        source=f"firm's production rates{since}",
    )


def _equipment_days(hours: Iterable[Hours], catalog: Catalog, conditions: Conditions) -> float:
    """Return the machine's days, to the half day: it stays as long as the crew digs."""
    rules = catalog.rules
    if conditions.dig_method not in rules.equipment:
        return 0.0
    dig_hours = sum(each.labor_hours for each in hours if each.phase == "dig")
    return round_up_to_half(dig_hours / (rules.crew_size * rules.hours_per_day))


def _missing_rates(works: Sequence[Work], pace: Pace) -> tuple[Finding, ...]:
    known = pace.rates.hours
    asked = dict.fromkeys(work.rate for work in works)
    factors = dict.fromkeys(
        factor.row.removeprefix("hours.")
        for work in works
        for factor in work.factors
        if factor.row.startswith("hours.")
    )
    return (
        *(_missing_rate(key) for key in asked if key not in known),
        *(_missing_factor(key) for key in factors if key not in known),
    )


def _missing_rate(key: str) -> Finding:
    return Finding(
        code="missing-rate",
        severity="stop",
        message=f"There is no production rate '{key}', so this work is counted as 0 hours.",
        place=f"rates.hours.{key}",
        action="Enter the rate in labour hours, or choose another method or soil class.",
    )


def _missing_factor(key: str) -> Finding:
    return Finding(
        code="missing-rate",
        severity="stop",
        message=f"There is no factor '{key}', so the hours it should change stay as they are.",
        place=f"rates.hours.{key}",
        action="Enter the factor; 1 changes nothing.",
    )
