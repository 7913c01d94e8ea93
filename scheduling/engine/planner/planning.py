"""The plan of all open jobs: the one entry to the planner.

What comes out has been laid on real days again and looked through by the rules of the calendar
(`crew_days.find_violations`), which know nothing of the solver. What would break one is taken out
and said, never shown.
"""

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduling.engine.new_breaches import new_violations, told_of
from scheduling.engine.plan import CrewDay, Facts
from scheduling.engine.planner.building import Asked, Built, build
from scheduling.engine.planner.figures import Figures, figures_of
from scheduling.engine.planner.lines import Line
from scheduling.engine.planner.problem import Draft, Laid
from scheduling.engine.planner.reasons import reasons_alone, reasons_for
from scheduling.engine.planner.solving import Limits, Solved, Stage, solve
from scheduling.engine.planner.visiting import groups_of, parts_of
from scheduling.engine.real_time import QUARTERS_PER_HOUR

NEEDED = "What is fixed on the calendar needs it where it stands."


@dataclass(frozen=True, kw_only=True, slots=True)
class Planned:
    """A plan: its blocks in the order they are worked, what it comes to, what has no place and why.

    `waits` holds for each job without a place an irreducible set of reasons, in words. What stands
    of some of them stays as it is, `held`: without it something fixed would break a rule.
    """

    blocks: tuple[CrewDay, ...]
    figures: Figures
    stages: tuple[Stage, ...]
    waits: Mapping[str, tuple[str, ...]]
    held: tuple[CrewDay, ...] = ()
    was_stopped: bool = False


def make_plan(asked: Asked, limits: Limits, *, clock: Callable[[], float]) -> Planned:
    """Return the best plan found within the limits; `clock` counts seconds.

    Where a job without a place would leave the calendar and what is fixed would break a rule by
    that, its blocks stay and the others are planned around them: in a search of its own, unless it
    is plain beforehand.

    Raises:
        EngineError: the facts lack what is asked for.
    """
    waits = dict(_surely_held(asked))
    while True:
        planned = _plan_around(waits, asked, limits, clock)
        more = _needed(asked, waits, planned.blocks)
        if not more:
            return planned
        waits |= {key: planned.waits.get(key, (NEEDED,)) for key in sorted(more)}


def _surely_held(asked: Asked) -> Iterable[tuple[str, tuple[str, ...]]]:
    """Yield jobs that what is fixed needs and that have no place even alone, with the reasons."""
    needed = _needed(asked, (), ())
    for wanted in asked.jobs:
        # Who waits for another job has no place while that has none: the search has to tell.
        waits = bool(asked.facts.jobs[wanted.job].after_job)
        if wanted.job not in needed or waits or not wanted.hours:
            continue
        if reasons := reasons_alone(wanted, asked):
            yield wanted.job, reasons


def _needed(asked: Asked, held: Collection[str], blocks: Sequence[CrewDay]) -> set[str]:
    """Return the jobs whose blocks what is fixed needs, beside those of a plan and of the held."""
    if not asked.stands:
        return set()
    stood = told_of(asked.stands, asked.facts)
    found = new_violations([*_kept(asked, held), *blocks], asked.facts, stood)
    jobs = {each.job for one in found for each in one.blocks}
    jobs |= {asked.facts.jobs[key].after_job for key in jobs}
    return {one.job for one in asked.shown if one.job in jobs and one.job not in held}


def _kept(asked: Asked, held: Collection[str]) -> tuple[CrewDay, ...]:
    """Return what stays on the calendar: what is fixed, and all that stands of jobs held."""
    if not held:
        return asked.fixed
    fixed = set(asked.fixed)
    return tuple(one for one in asked.stands if one in fixed or one.job in held)


def _plan_around(
    held: Mapping[str, tuple[str, ...]],
    asked: Asked,
    limits: Limits,
    clock: Callable[[], float],
) -> Planned:
    """Return the best plan of all jobs but those held, which have no place and stay."""
    left = replace(
        asked,
        jobs=tuple(one for one in asked.jobs if one.job not in held),
        fixed=_kept(asked, held),
        shown=tuple(one for one in asked.shown if one.job not in held),
    )
    planned = _plan_once(left, limits, clock)
    count = len(held)
    return replace(
        planned,
        figures=replace(planned.figures, unplaced=planned.figures.unplaced + count),
        stages=tuple(
            replace(one, value=one.value + count) if one.name == "unplaced" else one
            for one in planned.stages
        ),
        waits={**held, **planned.waits},
        held=tuple(one for one in asked.shown if one.job in held),
    )


def _plan_once(asked: Asked, limits: Limits, clock: Callable[[], float]) -> Planned:
    built = build(asked)
    solved = solve(built.problem, limits, clock=clock)
    sound, broken = _sound(built, asked, solved)
    waits = {
        wanted.job: broken.get(wanted.job) or reasons_for(wanted, asked, built, sound)
        for wanted in asked.jobs
        if wanted.job not in sound and any(any(each.values()) for each in wanted.hours.values())
    }
    figures = figures_of(built.problem, sound)
    stages = (replace(each, value=getattr(figures, each.name)) for each in solved.stages)
    return Planned(
        blocks=blocks_of(built, asked, sound),
        figures=figures,
        stages=tuple(stages),
        waits=waits,
        was_stopped=solved.was_stopped,
    )


def _sound(built: Built, asked: Asked, solved: Solved) -> tuple[Draft, dict[str, tuple[str, ...]]]:
    """Return the draft without what the calendar's own rules object to, and their words."""
    draft = dict(solved.draft)
    # Whoever takes the plan looks at what breaks beyond what stands now, fixed or not.
    stood = told_of(asked.stands or asked.fixed, asked.facts)
    objections: dict[str, tuple[str, ...]] = {}
    while True:
        plan = [*asked.fixed, *blocks_of(built, asked, draft)]
        found = new_violations(plan, asked.facts, stood)
        guilty = {
            each.job: (one.sentence,) for one in found for each in one.blocks if each.job in draft
        }
        if not guilty:
            return draft, objections
        objections |= guilty
        draft = {key: mine for key, mine in draft.items() if key not in guilty}


def blocks_of(built: Built, asked: Asked, draft: Draft) -> tuple[CrewDay, ...]:
    """Return the blocks of a draft, day by day in the order they are worked."""
    found: list[tuple[int, CrewDay, bool]] = []
    wanted = {one.job: one for one in asked.jobs}
    for key, mine in draft.items():
        groups = groups_of(wanted[key], built.calendar)
        for group, laid in zip(groups, mine, strict=True):
            line = built.calendar.lines[laid.crew]
            for part in parts_of(wanted[key], laid.crew, group):
                for piece in line.pieces(laid.place + part.offset, part.length):
                    block = CrewDay(
                        job=key,
                        phase=part.phase,
                        crew=laid.crew,
                        date=built.calendar.date(piece.stretch.day),
                        hours=piece.span / QUARTERS_PER_HOUR,
                        machine=asked.facts.jobs[key].machines.get(part.phase, ""),
                    )
                    follows = _follows(line, laid, part.offset, piece.index)
                    found.append((piece.begins, block, follows))
    found.sort(key=lambda one: (one[1].date, one[1].crew, one[0]))
    return tuple(_timed_blocks(found, built, asked.fixed, asked.facts))


def _follows(line: Line, laid: Laid, offset: int, index: int) -> bool:
    """Say whether another phase of the same visit comes right before, on the same day."""
    place = max(laid.place + offset, line.at[index])
    return place > max(laid.place, line.at[index])


def _timed_blocks(
    found: Iterable[tuple[int, CrewDay, bool]],
    built: Built,
    fixed: Sequence[CrewDay],
    facts: Facts,
) -> Iterable[CrewDay]:
    """Yield the blocks with the hour each begins, where it does not follow from the day."""
    begun = {(one.crew, one.date) for one in fixed}
    for begins, block, follows in found:
        at = built.calendar.moment(begins).astimezone(facts.zone)
        is_first = (block.crew, block.date) not in begun
        begun.add((block.crew, block.date))
        is_natural = follows or (is_first and _at_start(at, block, facts))
        yield block if is_natural else replace(block, start=at.time())


def _at_start(at: dt.datetime, block: CrewDay, facts: Facts) -> bool:
    return at.time() == facts.crews[block.crew].start and at.date() == block.date
