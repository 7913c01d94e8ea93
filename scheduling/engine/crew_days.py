"""What a plan of crew days breaks: this only checks, it places nothing.

Every rule is judged by itself, so a plan with two faults is told both.
"""

import datetime as dt
import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from scheduling.engine.breaches import Rule, Violation, without_known
from scheduling.engine.cure import Work
from scheduling.engine.driving import SLACK_H, drive_h, extra_drive_h
from scheduling.engine.hanging import Pour, Wait, barred, frost_words, hang_not_before
from scheduling.engine.plan import (
    Crew,
    CrewDay,
    Facts,
    JobFacts,
    Phase,
    Timed,
    timed,
)
from scheduling.engine.readiness import conditions, first_block, inspection_by, material_by
from scheduling.engine.real_time import hours_later
from scheduling.engine.standing import Condition, Kind
from scheduling.engine.wait_words import Saying
from scheduling.engine.wording import (
    dated_words,
    day_words,
    list_words,
    minutes_words,
    number_words,
    rain_amount,
)

# Material is judged by phase, and the inspection belongs to the concrete.
JUDGED_APART = frozenset({Kind.LOCATE, Kind.MATERIAL, Kind.INSPECTION})
NO_POUR_WORDS = "The hour of the pour is not recorded."
NO_POUR_KNOWN = barred(lambda: Saying(rule=NO_POUR_WORDS))
ONE_HOUR = dt.timedelta(hours=1)
LONG_AGO = dt.datetime(1, 1, 2, tzinfo=dt.UTC)
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


Phases = Mapping[Phase, Sequence[Timed]]


def find_violations(placements: Sequence[CrewDay], facts: Facts) -> tuple[Violation, ...]:
    """Return every rule the plan breaks: those of jobs, of crews, then of machines.

    What was overridden is left out while it reads the same or is less; what is worse is new.

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
        found += _after_violations(mine, by_job, facts)
    for (key, day), mine in by_crew.items():
        found += _crew_violations(mine, facts.crews[key], day, facts)
    for (key, day), mine in by_machine.items():
        found += _machine_violations(mine, key, day, facts)
    return without_known(found, placements)


def _short_h(one: Timed, ready_at: dt.datetime) -> float:
    """Return by how many real hours a block begins before a moment."""
    return (ready_at.astimezone(dt.UTC) - one.starts_at.astimezone(dt.UTC)) / ONE_HOUR


def _job_violations(mine: Sequence[Timed], job: JobFacts, facts: Facts) -> Iterator[Violation]:
    phases: dict[Phase, list[Timed]] = defaultdict(list)
    for one in mine:
        phases[one.block.phase].append(one)
    for one in mine:
        for rule, why in day_bars(one.block.phase, job, one.block.date, facts):
            what = f"{job.name}: no {PHASE_NAMES[one.block.phase]} on {day_words(one.block.date)}."
            yield Violation(rule=rule, sentence=f"{what} {why}", blocks=(one.block,))
        yield from _able_violations(one, job, facts.crews[one.block.crew])
        yield from _order_violations(one, job, phases)
        yield from _cure_violations(one, job, phases, facts)


def _able_violations(one: Timed, job: JobFacts, crew: Crew) -> Iterator[Violation]:
    phase, day = one.block.phase, one.block.date
    bars = (
        (Rule.SKILL, skill_bar(phase, job, crew)),
        (Rule.PEOPLE, people_bar(phase, job, crew, day)),
    )
    for rule, why in bars:
        if why:
            yield Violation(rule=rule, sentence=f"{job.name}: {why}", blocks=(one.block,))


def day_bars(phase: Phase, job: JobFacts, day: dt.date, facts: Facts) -> Iterator[tuple[Rule, str]]:
    """Yield all that bars a phase on a day whichever crew it is: papers, customer, rain, frost."""
    for rule, why in day_blocks(phase, job, day, today=facts.today):
        yield rule, f"{why.words} {why.detail}".strip()
    bars = (
        (Rule.CUSTOMER_DAY, customer_bar(job, day)),
        (Rule.RAIN, rain_bar(phase, day, facts)),
        (Rule.FROST, frost_bar(phase, job, day, facts)),
    )
    yield from ((rule, words) for rule, words in bars if words)


def day_blocks(
    phase: Phase, job: JobFacts, day: dt.date, *, today: dt.date
) -> Iterator[tuple[Rule, Condition]]:
    """Yield what bars a phase on a day, in the order people settle it.

    The inspection comes between hole and concrete, so it bars no digging.
    """
    found = conditions(job.standing, on=day) if phase in job.digs else ()
    other = first_block(each for each in found if each.kind not in JUDGED_APART)
    if other is not None:
        yield Rule.READINESS, other
    material = first_block(material_by(job.materials_for(phase), on=day, today=today))
    if material is not None:
        yield Rule.MATERIAL, material
    ticket = first_block(each for each in found if each.kind == Kind.LOCATE)
    if ticket is not None:
        yield Rule.TICKET, ticket
    if phase == Phase.SET and not (seen := inspection_by(job.standing, on=day)).is_met:
        yield Rule.INSPECTION, seen


def customer_bar(job: JobFacts, day: dt.date) -> str:
    """Return why the customer wants no crew on a day, or nothing."""
    if job.not_before is not None and day < job.not_before:
        return f"The customer wants nobody there before {day_words(job.not_before)}."
    return "The customer wants nobody there on that day." if day in job.closed_days else ""


def rain_bar(phase: Phase, day: dt.date, facts: Facts) -> str:
    """Return why rain bars a phase on a day, or nothing."""
    rain_in, limit_in = facts.wet_days.get(day, 0.0), facts.rain_limit_in.get(phase)
    if limit_in is None or rain_in <= limit_in:
        return ""
    fell, most = (rain_amount(each, is_metric=facts.is_metric) for each in (rain_in, limit_in))
    return f"{fell} of rain; it is done in up to {most}."


def skill_bar(phase: Phase, job: JobFacts, crew: Crew) -> str:
    """Return what a phase asks for that a crew can't do, or nothing."""
    missing = sorted(job.skills.get(phase, frozenset()) - crew.skills)
    if not missing:
        return ""
    return f"{PHASE_NAMES[phase]} asks for {list_words(missing)}, which {crew.name} does not have."


def people_bar(phase: Phase, job: JobFacts, crew: Crew, day: dt.date) -> str:
    """Return that too few of a crew are there for a phase on a day, or the wrong ones, or nothing.

    A crew of which nobody is there is off, which is another rule.
    """
    asked, there = job.people.get(phase, 1), crew.present_on(day)
    gone = sorted(job.skills.get(phase, frozenset()) & crew.skills_away.get(day, frozenset()))
    if gone and there > 0:
        who = f"and whoever of {crew.name} has it is away on {day_words(day)}."
        return f"{PHASE_NAMES[phase]} asks for {list_words(gone)}, {who}"
    if not 0 < there < asked:
        return ""
    said = f"{PHASE_NAMES[phase]} asks for {asked} people"
    if there == crew.people:
        return f"{said}, and {crew.name} has {there}."
    return f"{said}, and {there} of {crew.name}'s {crew.people} are there on {day_words(day)}."


def frost_bar(phase: Phase, job: JobFacts, day: dt.date, facts: Facts) -> str:
    """Return why frost bars setting posts on a day, or nothing."""
    if phase != Phase.SET or job.concrete is None or job.concrete.is_covered:
        return ""
    frost = facts.frost_on(job.concrete, day)
    return frost_words(frost, is_metric=facts.table.is_metric) if frost else ""


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
        yield _order_violation(
            one, job, f"{PHASE_NAMES[last]} {state}", short_h=_short_h(one, over[last])
        )


def after_wait(
    job: JobFacts, blocks: Mapping[str, Sequence[Timed]], facts: Facts
) -> dt.datetime | str:
    """Return when the job before this one is over, or in words what it still lacks.

    `blocks` holds each job's blocks. Where none is waited for, it was over long ago.
    """
    first = facts.jobs.get(job.after_job)
    if first is None or first.is_over:
        return LONG_AGO
    ends: dict[Phase, dt.datetime] = {}
    for one in blocks.get(job.after_job, ()):
        ends[one.block.phase] = max(ends.get(one.block.phase, LONG_AGO), one.ends_at)
    for phase in first.phases:
        if phase not in first.done and phase not in ends:
            return f"{first.name} comes first, and its {PHASE_NAMES[phase]} is not on the calendar"
    return max(at for phase, at in ends.items() if phase not in first.done)


def _after_violations(
    mine: Sequence[Timed], by_job: Mapping[str, Sequence[Timed]], facts: Facts
) -> Iterator[Violation]:
    job = facts.jobs[mine[0].block.job]
    wait = after_wait(job, by_job, facts)
    for one in mine:
        short_h = None
        if isinstance(wait, str):
            why = wait
        elif wait > one.starts_at:
            first = facts.jobs[job.after_job].name
            why = f"{first} comes first and is over on {dated_words(wait)}"
            short_h = _short_h(one, wait)
        else:
            continue
        sentence = f"{_too_early(one, job)}: {why}."
        yield Violation(rule=Rule.AFTER, sentence=sentence, blocks=(one.block,), short_h=short_h)


def _order_violation(
    one: Timed, job: JobFacts, why: str, *, short_h: float | None = None
) -> Violation:
    sentence = f"{_too_early(one, job)}: {why}."
    return Violation(rule=Rule.ORDER, sentence=sentence, blocks=(one.block,), short_h=short_h)


def _too_early(one: Timed, job: JobFacts) -> str:
    when = dated_words(one.starts_at)
    return f"{job.name}: {PHASE_NAMES[one.block.phase]} on {when} comes too early"


def _cure_violations(
    one: Timed, job: JobFacts, phases: Phases, facts: Facts
) -> Iterator[Violation]:
    wait = hang_wait(one.block.phase, job, phases.get(Phase.SET, ()), facts)
    if wait is None or (wait.ready_at is not None and wait.ready_at <= one.starts_at):
        return
    sentence = f"{_too_early(one, job)}. {wait.told(is_planned=job.is_to_pour)}"
    short_h = None if wait.ready_at is None else _short_h(one, wait.ready_at)
    yield Violation(rule=Rule.CURE, sentence=sentence, blocks=(one.block,), short_h=short_h)


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
    return facts.pour(job.concrete, max(moments)) if moments else None


def _crew_violations(
    mine: Sequence[Timed], crew: Crew, day: dt.date, facts: Facts
) -> Iterator[Violation]:
    blocks = tuple(one.block for one in mine)
    if not crew.works_on(day):
        sentence = f"{crew.name} does not work on {day_words(day)}."
        if why := crew.off_words.get(day, ""):
            sentence = f"{sentence} {why}."
        yield Violation(rule=Rule.CREW_OFF, sentence=sentence, blocks=blocks)
    elif why := _hours_block(mine, crew, facts):
        sentence = f"{crew.name} on {day_words(day)}: {why}"
        yield Violation(rule=Rule.CREW_HOURS, sentence=sentence, blocks=blocks)
    for one, other in itertools.combinations(mine, 2):
        pair = one.block, other.block
        if one.starts_at < other.ends_at and other.starts_at < one.ends_at:
            sentence = f"{crew.name} is in two places on {dated_words(other.starts_at)}."
            yield Violation(rule=Rule.CREW_TWICE, sentence=sentence, blocks=pair)
        elif why := _drive_block(one, other, facts):
            sentence = f"{crew.name} on {day_words(day)}: {why}"
            yield Violation(rule=Rule.DRIVE, sentence=sentence, blocks=pair)


def _drive_block(one: Timed, other: Timed, facts: Facts) -> str:
    """Return why a crew can't be at the later of two sites in time, or nothing."""
    job, next_job = facts.jobs[one.block.job], facts.jobs[other.block.job]
    needed_h = drive_h(job.place, next_job.place, facts.road)
    free_h = (other.starts_at.astimezone(dt.UTC) - one.ends_at.astimezone(dt.UTC)) / ONE_HOUR
    if free_h + SLACK_H >= needed_h:
        return ""
    return (
        f"from {job.name} to {next_job.name} it is a drive of {minutes_words(needed_h)}, "
        f"and {minutes_words(free_h)} are free."
    )


def _hours_block(mine: Sequence[Timed], crew: Crew, facts: Facts) -> str:
    total = sum(one.block.hours for one in mine)
    places = [facts.jobs[one.block.job].place for one in mine]
    extra = max(extra_drive_h(places, facts.yard, facts.road), 0.0)
    if total + extra > crew.hours + SLACK_H:
        road = f" and {minutes_words(extra)} more on the road" if extra > SLACK_H else ""
        return f"{number_words(total)} h planned{road}, {number_words(crew.hours)} h there."
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
    if machine.is_rentable:
        return
    crews = sorted({facts.crews[one.block.crew].name for one in mine})
    if len({one.block.crew for one in mine}) > machine.owned:
        sentence = (
            f"{machine.name} on {day_words(day)}: wanted by {list_words(crews)}, "
            f"the firm has {machine.owned}."
        )
        blocks = tuple(one.block for one in mine)
        yield Violation(rule=Rule.MACHINE_TWICE, sentence=sentence, blocks=blocks)
