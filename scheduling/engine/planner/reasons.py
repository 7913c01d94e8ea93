"""Why a job finds no place: a set of reasons of which none can be left out.

Rules are dropped one by one as long as the job still finds no place; those that remain bar it
together, and without any one of them it would have a place.
"""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace

from scheduling.engine.breaches import Rule
from scheduling.engine.crew_days import (
    PHASE_NAMES,
    day_bars,
    hang_wait,
    people_bar,
    skill_bar,
)
from scheduling.engine.placing import Wanted
from scheduling.engine.plan import Facts, Phase
from scheduling.engine.planner.building import Asked, Built, build
from scheduling.engine.planner.dispatch import Dispatch, Manner
from scheduling.engine.planner.laying import has_place_beside
from scheduling.engine.planner.problem import Draft, Laid
from scheduling.engine.wording import day_words, list_words

# In the order in which people would rather settle them: the first is dropped first.
RULES = (
    Rule.RAIN,
    Rule.FROST,
    Rule.CUSTOMER_DAY,
    Rule.SKILL,
    Rule.PEOPLE,
    Rule.MACHINE_TWICE,
    Rule.ORDER,
    Rule.CURE,
    Rule.MATERIAL,
    Rule.INSPECTION,
    Rule.READINESS,
    Rule.AFTER,
    Rule.TICKET,
)
# What must not move while a job is looked at alone, said like a rule.
FIXED = "fixed"


def reasons_for(wanted: Wanted, asked: Asked, built: Built, draft: Draft) -> tuple[str, ...]:
    """Return an irreducible set of reasons why a job has no place beside a draft, in words."""
    job = asked.facts.jobs[wanted.job]
    if not wanted.hours:
        return ("No crew can be planned yet.",)
    before = job.after_job
    if before and not asked.facts.jobs[before].is_over and _has_no_days(before, asked, draft):
        return (f"{asked.facts.jobs[before].name} comes first and has no place yet.",)
    if alone := reasons_alone(wanted, asked):
        return alone
    rivals = _rivals(wanted.job, built, draft)
    if not rivals:
        return ("The time to look for a better plan was over.",)
    names = [asked.facts.jobs[key].name for key in rivals]
    takes = "takes" if len(names) == 1 else "take"
    return (f"{list_words(names)} {takes} the days it could have.",)


def reasons_alone(wanted: Wanted, asked: Asked) -> tuple[str, ...]:
    """Return why a job has no place even with all others off the calendar, or nothing."""
    alone = replace(asked, jobs=(wanted,), shown=())
    return () if _fits(alone) else tuple(_words(wanted, asked, alone))


def _has_no_days(key: str, asked: Asked, draft: Draft) -> bool:
    return key not in draft and not any(one.job == key for one in asked.fixed)


def _fits(asked: Asked) -> bool:
    return bool(Dispatch(build(asked).problem).plan(Manner()))


def _rivals(key: str, built: Built, draft: Draft) -> list[str]:
    """Return jobs of a draft that together leave this one no place, none too many."""
    gone = sorted(draft)
    if not has_place_beside(built.problem, key, {}):
        return []
    standing: dict[str, tuple[Laid, ...]] = {}
    for other in list(gone):
        beside = standing | {other: draft[other]}
        if has_place_beside(built.problem, key, beside):
            standing = beside
            gone.remove(other)
    return gone


def _words(wanted: Wanted, asked: Asked, alone: Asked) -> Iterator[str]:
    """Yield the reasons that bar a job which is alone on the calendar."""
    last = day_words(asked.last_day)
    everything = replace(alone, ignored=frozenset(RULES))
    if not _fits(everything):
        if asked.fixed and _fits(replace(everything, fixed=())):
            yield f"What stands fixed on the calendar leaves no room until {last}."
        else:
            yield f"No crew has the days for it until {last}."
        return
    kept = frozenset(RULES)
    for rule in RULES:
        fewer = kept - {rule}
        if not _fits(replace(alone, ignored=frozenset(RULES) - fewer)):
            kept = fewer
    for rule in RULES:
        if rule in kept:
            yield _sentence(rule, wanted, asked)


def _sentence(rule: Rule, wanted: Wanted, asked: Asked) -> str:
    """Return what a rule says of a job, as of the first day on which it bars it."""
    facts = asked.facts
    job = facts.jobs[wanted.job]
    phases = [phase for phase in job.phases if phase not in job.done]
    if rule in {Rule.SKILL, Rule.PEOPLE}:
        return _able_words(rule, phases, wanted, asked)
    if rule == Rule.CURE:
        return _cure_words(wanted, asked)
    if rule == Rule.ORDER:
        return "What stands fixed of its later phases comes too soon."
    if rule == Rule.AFTER:
        return f"{facts.jobs[job.after_job].name} comes first and is over too late."
    if rule == Rule.MACHINE_TWICE:
        names = {facts.machines[key].name for key in job.machines.values()}
        return f"{list_words(sorted(names))}: out with other crews on the days it could have."
    return _day_words(rule, phases, wanted, asked)


def _able_words(rule: Rule, phases: Sequence[Phase], wanted: Wanted, asked: Asked) -> str:
    """Return what crews can't do, or on which day too few of one are there."""
    facts = asked.facts
    job, crews = facts.jobs[wanted.job], [facts.crews[key] for key in wanted.hours]
    if rule == Rule.SKILL:
        found = (skill_bar(phase, job, crew) for phase in phases for crew in crews)
    else:
        found = (
            people_bar(phase, job, crew, day)
            for phase in phases
            for crew in crews
            for day in _days(asked)
        )
    words = next(filter(None, found), "")
    return f"{words[:1].upper()}{words[1:]}"


def _days(asked: Asked) -> list[dt.date]:
    count = (asked.last_day - asked.first_day).days + 1
    return [asked.first_day + dt.timedelta(days=number) for number in range(count)]


def _day_words(rule: Rule, phases: Sequence[Phase], wanted: Wanted, asked: Asked) -> str:
    """Return what a rule bars on the first day on which a crew would work: it bars others too."""
    facts: Facts = asked.facts
    crews = [facts.crews[key] for key in wanted.hours]
    for day in _days(asked):
        if not any(crew.works_on(day) for crew in crews):
            continue
        for phase in phases:
            for found, words in day_bars(phase, facts.jobs[wanted.job], day, facts):
                if found == rule:
                    return f"No {PHASE_NAMES[phase]} on {day_words(day)}: {words}"
    return f"Barred by {rule.value}."


def _cure_words(wanted: Wanted, asked: Asked) -> str:
    job = asked.facts.jobs[wanted.job]
    for phase in (Phase.HANG, Phase.GATES):
        wait = hang_wait(phase, job, (), asked.facts)
        if wait is not None and wait.ready_at is None:
            return wait.sentence
    return "The wait for the concrete leaves too few days."
