"""What a plan of crew days breaks: this only checks, it places nothing.

Every rule is judged by itself, so a plan with two faults is told both.
"""

import datetime as dt
import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from scheduling.engine.cure import Work
from scheduling.engine.hanging import Pour, Wait, frost_words, hang_not_before, threats_to
from scheduling.engine.plan import Concrete, Crew, CrewDay, Facts, JobFacts, Phase, Timed, timed
from scheduling.engine.readiness import conditions, first_block, inspection_by, material_by
from scheduling.engine.real_time import hours_later
from scheduling.engine.standing import Condition, Kind
from scheduling.engine.wording import dated_words, day_words, list_words, number_words

# Hours in tenths don't add up in binary: 1.1, 3.2 and 3.2 must still fit a day of 7.5.
SLACK_H = 1e-6
# Material is judged by phase, and the inspection belongs to the concrete.
JUDGED_APART = frozenset({Kind.LOCATE, Kind.MATERIAL, Kind.INSPECTION})
NO_POUR_WORDS = "The hour of the pour is not recorded."
NO_POUR_KNOWN = Wait(hours=None, ready_at=None, sentence=NO_POUR_WORDS, brief=NO_POUR_WORDS)
MID_AFTERNOON = dt.time(15)
PHASE_NAMES = {
    Phase.REMOVAL: "taking out the old fence",
    Phase.LAYOUT: "layout",
    Phase.DIG: "digging",
    Phase.SET: "setting posts",
    Phase.HANG: "hanging",
    Phase.GATES: "hanging gates",
    Phase.CLEAN_UP: "clean-up",
    Phase.EXTRA: "other work",
}


class Rule(StrEnum):
    """What a plan may not break."""

    TICKET = "ticket"
    READINESS = "readiness"
    MATERIAL = "material"
    INSPECTION = "inspection"
    FROST = "frost"
    CURE = "cure"
    ORDER = "order"
    CREW_OFF = "crew_off"
    CREW_HOURS = "crew_hours"
    CREW_TWICE = "crew_twice"
    MACHINE_TWICE = "machine_twice"


@dataclass(frozen=True, kw_only=True, slots=True)
class Violation:
    """A rule a plan breaks, in words, with the blocks that break it together."""

    rule: Rule
    sentence: str
    blocks: tuple[CrewDay, ...]


Phases = Mapping[Phase, Sequence[Timed]]


def find_violations(placements: Sequence[CrewDay], facts: Facts) -> tuple[Violation, ...]:
    """Return every rule the plan breaks: those of jobs, of crews, then of machines.

    Raises:
        EngineError: a block names a job, a phase, a crew or a machine that `facts` lack.
    """
    by_job: dict[str, list[Timed]] = defaultdict(list)
    by_crew: dict[tuple[str, dt.date], list[Timed]] = defaultdict(list)
    by_machine: dict[tuple[str, dt.date], list[Timed]] = defaultdict(list)
    for one in sorted(timed(placements, facts), key=lambda each: each.starts_at):
        by_job[one.block.job].append(one)
        by_crew[one.block.crew, one.block.date].append(one)
        if one.block.machine:
            by_machine[one.block.machine, one.block.date].append(one)
    found: list[Violation] = []
    for key, mine in by_job.items():
        found += _job_violations(mine, facts.jobs[key], facts)
    for (key, day), mine in by_crew.items():
        found += _crew_violations(mine, facts.crews[key], day)
    for (key, day), mine in by_machine.items():
        found += _machine_violations(mine, key, day, facts)
    return tuple(found)


def _job_violations(mine: Sequence[Timed], job: JobFacts, facts: Facts) -> Iterator[Violation]:
    phases: dict[Phase, list[Timed]] = defaultdict(list)
    for one in mine:
        phases[one.block.phase].append(one)
    for one in mine:
        for rule, why in day_blocks(one.block.phase, job, one.block.date, today=facts.today):
            yield _day_violation(rule, why, one, job)
        yield from _frost_violations(one, job, facts)
        yield from _order_violations(one, job, phases)
        yield from _cure_violations(one, job, phases, facts)


def day_blocks(
    phase: Phase, job: JobFacts, day: dt.date, *, today: dt.date
) -> Iterator[tuple[Rule, Condition]]:
    """Yield what bars a phase on a day: its ticket, other papers, material and inspection.

    The inspection comes between hole and concrete, so it bars no digging.
    """
    if phase in job.digs:
        found = conditions(job.standing, on=day)
        ticket = first_block(each for each in found if each.kind == Kind.LOCATE)
        other = first_block(each for each in found if each.kind not in JUDGED_APART)
        if ticket is not None:
            yield Rule.TICKET, ticket
        if other is not None:
            yield Rule.READINESS, other
    material = first_block(material_by(job.materials_for(phase), on=day, today=today))
    if material is not None:
        yield Rule.MATERIAL, material
    if phase == Phase.SET and not (seen := inspection_by(job.standing, on=day)).is_met:
        yield Rule.INSPECTION, seen


def _day_violation(rule: Rule, why: Condition, one: Timed, job: JobFacts) -> Violation:
    what = f"{job.name}: no {PHASE_NAMES[one.block.phase]} on {day_words(one.block.date)}."
    sentence = f"{what} {why.words} {why.detail}".strip()
    return Violation(rule=rule, sentence=sentence, blocks=(one.block,))


def frost_bar(phase: Phase, job: JobFacts, day: dt.date, facts: Facts) -> str:
    """Return why frost bars setting posts on a day, or nothing.

    Judged for a pour in mid-afternoon: an earlier one is stronger when the frost comes.
    """
    if phase != Phase.SET or job.concrete is None or job.concrete.is_covered:
        return ""
    afternoon = dt.datetime.combine(day, MID_AFTERNOON, tzinfo=facts.zone)
    frost = threats_to(_pour_at(afternoon, job.concrete, facts), facts.table).frost
    return frost_words(frost) if frost else ""


def _frost_violations(one: Timed, job: JobFacts, facts: Facts) -> Iterator[Violation]:
    if why := frost_bar(one.block.phase, job, one.block.date, facts):
        what = f"{job.name}: no {PHASE_NAMES[Phase.SET]} on {day_words(one.block.date)}."
        yield Violation(rule=Rule.FROST, sentence=f"{what} {why}", blocks=(one.block,))


def _order_violations(one: Timed, job: JobFacts, phases: Phases) -> Iterator[Violation]:
    """Yield an earlier phase that is nowhere, else the one that is over last, if too late."""
    earlier = job.phases[: job.phases.index(one.block.phase)]
    over: dict[Phase, dt.datetime] = {}
    for phase in earlier:
        if phase in job.done:
            continue
        if phase not in phases:
            yield _order_violation(one, job, f"{PHASE_NAMES[phase]} is not on the calendar")
            return
        over[phase] = max(each.ends_at for each in phases[phase])
    last = max(over, key=lambda phase: over[phase], default=None)
    if last is not None and over[last] > one.starts_at:
        state = f"is over on {dated_words(over[last])}"
        yield _order_violation(one, job, f"{PHASE_NAMES[last]} {state}")


def _order_violation(one: Timed, job: JobFacts, why: str) -> Violation:
    sentence = f"{_too_early(one, job)}: {why}."
    return Violation(rule=Rule.ORDER, sentence=sentence, blocks=(one.block,))


def _too_early(one: Timed, job: JobFacts) -> str:
    when = dated_words(one.starts_at)
    return f"{job.name}: {PHASE_NAMES[one.block.phase]} on {when} comes too early"


def _cure_violations(
    one: Timed, job: JobFacts, phases: Phases, facts: Facts
) -> Iterator[Violation]:
    wait = hang_wait(one.block.phase, job, phases.get(Phase.SET, ()), facts)
    if wait is None or (wait.ready_at is not None and wait.ready_at <= one.starts_at):
        return
    sentence = f"{_too_early(one, job)}. {wait.sentence}"
    yield Violation(rule=Rule.CURE, sentence=sentence, blocks=(one.block,))


def hang_wait(
    phase: Phase, job: JobFacts, set_blocks: Sequence[Timed], facts: Facts
) -> Wait | None:
    """Return how long a phase waits for the concrete, or None where it waits for none.

    A pour that is still to be planned is the matter of the order of phases.
    """
    work = {Phase.HANG: job.hang_work, Phase.GATES: Work.GATES}.get(phase)
    if work is None or job.concrete is None:
        return None
    pour = pour_of(job, set_blocks, facts)
    if pour is None:
        return None if job.is_to_pour else NO_POUR_KNOWN
    return hang_not_before(pour, work, facts.table)


def pour_of(job: JobFacts, set_blocks: Iterable[Timed], facts: Facts) -> Pour | None:
    """Return the pour that is waited for: the real one once all posts are set, else as planned.

    None where nothing is in concrete, or no pour is known.
    """
    if job.concrete is None:
        return None
    moments = [one.ends_at for one in set_blocks] if job.is_to_pour else []
    if job.concrete.poured_at is not None:
        moments.append(job.concrete.poured_at)
    return _pour_at(max(moments), job.concrete, facts) if moments else None


def _pour_at(moment: dt.datetime, concrete: Concrete, facts: Facts) -> Pour:
    return Pour(
        poured_at=moment.astimezone(facts.zone),
        mix=concrete.mix,
        air=replace(facts.weather, said_f=concrete.air_f),
        is_covered=concrete.is_covered,
    )


def _crew_violations(mine: Sequence[Timed], crew: Crew, day: dt.date) -> Iterator[Violation]:
    blocks = tuple(one.block for one in mine)
    if not crew.works_on(day):
        sentence = f"{crew.name} does not work on {day_words(day)}."
        yield Violation(rule=Rule.CREW_OFF, sentence=sentence, blocks=blocks)
    elif why := _hours_block(mine, crew):
        sentence = f"{crew.name} on {day_words(day)}: {why}"
        yield Violation(rule=Rule.CREW_HOURS, sentence=sentence, blocks=blocks)
    for one, other in itertools.combinations(mine, 2):
        if one.starts_at < other.ends_at and other.starts_at < one.ends_at:
            sentence = f"{crew.name} is in two places on {dated_words(other.starts_at)}."
            yield Violation(
                rule=Rule.CREW_TWICE, sentence=sentence, blocks=(one.block, other.block)
            )


def _hours_block(mine: Sequence[Timed], crew: Crew) -> str:
    total = sum(one.block.hours for one in mine)
    if total > crew.hours + SLACK_H:
        return f"{number_words(total)} h planned, {number_words(crew.hours)} h there."
    first = mine[0]
    begins_at = dt.datetime.combine(first.block.date, crew.start, tzinfo=first.starts_at.tzinfo)
    ends_at = hours_later(begins_at, crew.hours + SLACK_H)
    if first.starts_at < begins_at:
        return f"its day begins at {begins_at:%H:%M}."
    if max(one.ends_at for one in mine) > ends_at:
        return f"its day ends at {ends_at:%H:%M}."
    return ""


def _machine_violations(
    mine: Sequence[Timed], key: str, day: dt.date, facts: Facts
) -> Iterator[Violation]:
    """Judge a machine by the day: it goes out in the morning with one crew and stays with it."""
    machine = facts.machines[key]
    crews = sorted({facts.crews[one.block.crew].name for one in mine})
    if len({one.block.crew for one in mine}) > machine.owned:
        sentence = (
            f"{machine.name} on {day_words(day)}: wanted by {list_words(crews)}, "
            f"the firm has {machine.owned}."
        )
        blocks = tuple(one.block for one in mine)
        yield Violation(rule=Rule.MACHINE_TWICE, sentence=sentence, blocks=blocks)
