"""Giving work new days when a day is lost, with as few other jobs moved as need be.

Whatever stands and need not move stays; what comes out breaks no rule that was not broken before.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from firm.measure.locate import LocateRule
from scheduling.engine.crew_days import rain_bar
from scheduling.engine.errors import EngineError
from scheduling.engine.new_breaches import Told, new_violations, told_of
from scheduling.engine.placing import Placing, Wanted, place
from scheduling.engine.plan import CrewDay, Facts, JobFacts
from scheduling.engine.ticket_call import ticket_call


class Fate(StrEnum):
    """What becomes of a job whose day is lost, or that stands behind one."""

    KEPT = "kept"
    MOVED = "moved"
    OFF = "off"
    STUCK = "stuck"


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """A job with the blocks that may move and what they are placed anew by.

    One that `must_move` loses a day; another one moves only where its days are taken.
    """

    wanted: Wanted
    stands: tuple[CrewDay, ...]
    must_move: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Shifted:
    """What became of a job: its blocks in place of those that might move, and why it has none.

    `OFF`: nothing of it may be placed, and it is off the calendar. `STUCK`: it can't come off
    either, since blocks that stay build on it; it stands as it stood.
    """

    job: str
    fate: Fate
    blocks: tuple[CrewDay, ...]
    why: str = ""


def is_rained_out(block: CrewDay, facts: Facts) -> bool:
    """Say whether the rain of its day bars a block."""
    return bool(rain_bar(block.phase, block.date, facts))


def shift(
    lines: Sequence[Line], fixed: Sequence[CrewDay], facts: Facts
) -> tuple[tuple[Shifted, ...], tuple[CrewDay, ...]]:
    """Return what becomes of each job, in the order given, and the whole plan that comes out.

    The first in the row is served first. Where a job behind it would lose its place
    altogether, that one stays and the others are placed around it.
    """
    everything = [*fixed, *(one for line in lines for one in line.stands)]
    stood = told_of(everything, facts)
    stuck: dict[str, str] = {}
    while True:
        found, plan, failed = _once(lines, fixed, facts, stood, stuck)
        if failed is None:
            return found, plan
        stuck[failed.job] = failed.why


def saving_call(line: Line, plan: Sequence[CrewDay], facts: Facts, rule: LocateRule) -> str:
    """Return by when a call for a new ticket saves a dig that found no day, or nothing.

    The dig is placed as if the ticket went on; where that finds no day either, no call helps.
    """
    key = line.wanted.job
    open_facts = replace(facts, jobs={**facts.jobs, key: _with_open_ticket(facts.jobs[key], line)})
    placing = _placed(line, plan, open_facts)
    return ticket_call(key, placing.blocks, facts, rule)


def _once(
    lines: Sequence[Line],
    fixed: Sequence[CrewDay],
    facts: Facts,
    stood: Told,
    stuck: dict[str, str],
) -> tuple[tuple[Shifted, ...], tuple[CrewDay, ...], Shifted | None]:
    """Go through the row once; the last part names a job that must be left as it stands."""
    plan = [*fixed]
    for line in lines:
        if line.wanted.job in stuck:
            plan += line.stands
    found: list[Shifted] = []
    for line in lines:
        one = _shifted(line, plan, facts, stood, stuck)
        if one.fate == Fate.STUCK and one.job not in stuck:
            return (), (), one
        if one.job not in stuck:
            plan += one.blocks
        found.append(one)
    return tuple(found), tuple(plan), None


def _shifted(
    line: Line,
    plan: Sequence[CrewDay],
    facts: Facts,
    stood: Told,
    stuck: dict[str, str],
) -> Shifted:
    key = line.wanted.job
    if key in stuck:
        fate = Fate.STUCK if line.must_move else Fate.KEPT
        return Shifted(job=key, fate=fate, blocks=line.stands, why=stuck[key])
    as_it_stands = [*plan, *line.stands]
    if not line.must_move and not new_violations(as_it_stands, facts, stood):
        return Shifted(job=key, fate=Fate.KEPT, blocks=line.stands)
    placing = _placed(line, plan, facts)
    if not placing.waits_for:
        return Shifted(job=key, fate=Fate.MOVED, blocks=placing.blocks)
    # What is missed by its own later blocks, or by a job that waits for it, was not missed before.
    missed = new_violations(plan, facts, stood, told_of(as_it_stands, facts))
    fate = Fate.OFF if line.must_move and not missed else Fate.STUCK
    return Shifted(job=key, fate=fate, blocks=(), why=placing.waits_for)


def _placed(line: Line, plan: Sequence[CrewDay], facts: Facts) -> Placing:
    """Place a job with the crews that were to do it, else with any."""
    at_it = {one.crew for one in line.stands}
    own = {crew: hours for crew, hours in line.wanted.hours.items() if crew in at_it}
    placing = _tried(replace(line.wanted, hours=own), plan, facts)
    if placing.waits_for and own.keys() != line.wanted.hours.keys():
        other = _tried(line.wanted, plan, facts)
        return placing if other.waits_for and own else other
    return placing


def _tried(wanted: Wanted, plan: Sequence[CrewDay], facts: Facts) -> Placing:
    """Place a job; one that can't be placed around what stands waits, and says why."""
    try:
        return place(wanted, plan, facts)
    except EngineError as error:
        return Placing(waits_for=str(error))


def _with_open_ticket(job: JobFacts, line: Line) -> JobFacts:
    """Return a job whose tickets end after all that is looked at."""
    far = line.wanted.last_day + dt.timedelta(days=1)
    tickets = tuple(
        replace(one, expires_on=max(one.expires_on, far)) if one.expires_on else one
        for one in job.standing.tickets
    )
    return replace(job, standing=replace(job.standing, tickets=tickets))
