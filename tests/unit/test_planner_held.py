"""Plans that leave blocks where they stand, since what is fixed needs them there."""

import datetime as dt
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace

from scheduling.engine.new_breaches import new_violations, told_of
from scheduling.engine.placing import Wanted
from scheduling.engine.plan import Concrete, CrewDay, Facts, Phase
from scheduling.engine.planner.building import Asked
from scheduling.engine.planner.planning import Planned, make_plan
from scheduling.engine.planner.solving import Limits
from tests.plan_cases import FACTS, OAK, block, june

POURED = dt.datetime(2026, 5, 28, 12, tzinfo=FACTS.zone)
ASH = FACTS.jobs["ash"]


def planned(
    facts: Facts,
    hours: Mapping[str, Mapping[Phase, float]],
    *,
    stands: Sequence[CrewDay],
    fixed: Sequence[CrewDay],
) -> Planned:
    """Plan jobs from 1 to 24 June beside what stands, of which some is fixed."""
    asked = Asked(
        jobs=tuple(
            Wanted(
                job=key,
                hours=dict.fromkeys(facts.crews, mine),
                first_day=june(1),
                last_day=june(24),
            )
            for key, mine in hours.items()
        ),
        fixed=tuple(fixed),
        shown=tuple(one for one in stands if one not in fixed),
        stands=tuple(stands),
        facts=facts,
        first_day=june(1),
        last_day=june(24),
    )
    plan = make_plan(asked, Limits(seconds=5), clock=time.monotonic)
    after = [*fixed, *plan.held, *plan.blocks]
    assert new_violations(after, facts, told_of(asked.stands, facts)) == ()
    return plan


def test_blocks_that_what_is_fixed_needs_stay_where_their_job_has_no_place() -> None:
    """Clean-up stands fixed on Wed 10, and rain bars panels on all days before.

    Off the calendar they would leave clean-up without them, so they stay and fill the crew's Tue 9:
    Ash is planned around them.
    """
    done = frozenset({Phase.REMOVAL, Phase.LAYOUT, Phase.DIG, Phase.SET, Phase.GATES})
    concrete = Concrete(mix="standard", air_f=60, poured_at=POURED)
    facts = replace(
        FACTS,
        crews={"a": FACTS.crews["a"]},
        jobs={"oak": replace(OAK, done=done, concrete=concrete), "ash": ASH},
        wet_days={june(day): 2.0 for day in range(1, 10)},
        rain_limit_in={Phase.HANG: 0.2},
    )
    ash = replace(block("ash", Phase.EXTRA, "a", 8, 2), key="1")
    hang = replace(block("oak", Phase.HANG, "a", 9, 8), key="2")
    clean_up = replace(block("oak", Phase.CLEAN_UP, "a", 10, 2), key="3")
    hours = {"oak": {Phase.HANG: 8.0}, "ash": {Phase.EXTRA: 2.0}}
    plan = planned(facts, hours, stands=(ash, hang, clean_up), fixed=(clean_up,))
    assert plan.held == (hang,)
    assert plan.figures.unplaced == 1
    assert [(one.name, one.value) for one in plan.stages][:1] == [("unplaced", 1)]
    assert list(plan.waits) == ["oak"]
    assert "rain" in " ".join(plan.waits["oak"])
    assert [one.job for one in plan.blocks] == ["ash"]
    assert plan.blocks[0].date != june(9)


def test_job_that_a_fixed_one_waits_for_stays_rather_than_being_over_too_late() -> None:
    """Yew stands fixed on Wed 3 behind Ash on Tue 2, whose customer is at home from Thu 4 only."""
    yew = replace(ASH, name="Yew", after_job="ash")
    facts = replace(FACTS, jobs={"ash": replace(ASH, not_before=june(4)), "yew": yew})
    shown = replace(block("ash", Phase.EXTRA, "a", 2, 2), key="1")
    fixed = replace(block("yew", Phase.EXTRA, "a", 3, 2), key="2")
    hours = {"ash": {Phase.EXTRA: 2.0}}
    plan = planned(facts, hours, stands=(shown, fixed), fixed=(fixed,))
    assert plan.held == (shown,)
    assert plan.blocks == ()
    assert list(plan.waits) == ["ash"]


def test_job_without_a_place_leaves_the_calendar_where_nothing_fixed_needs_it() -> None:
    """Ash's customer wants nobody there before 25 June, and nothing of it is fixed."""
    facts = replace(FACTS, jobs={"ash": replace(ASH, not_before=june(25))})
    shown = replace(block("ash", Phase.EXTRA, "a", 2, 2), key="1")
    plan = planned(facts, {"ash": {Phase.EXTRA: 2.0}}, stands=(shown,), fixed=())
    assert (plan.held, plan.blocks) == ((), ())
    assert list(plan.waits) == ["ash"]
