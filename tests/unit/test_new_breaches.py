"""What is new of the rules a changed plan breaks, and what stood broken before in other words.

The plan is the fortnight of `plan_cases`. Ash waits for Elm, which is over on Monday 8 at 13:00,
and stands on Friday 5 all the same. The waits of concrete stand beside the plan there.
"""

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest

from scheduling.engine.breaches import Rule
from scheduling.engine.new_breaches import new_violations, told_of
from scheduling.engine.plan import CrewDay, Facts, Known
from tests.plan_cases import ASH, PLAN, june
from tests.plan_worlds import facts_with

ASH_WAITS = facts_with(ash=replace(ASH, after_job="elm"))


def changed(key: str, **changes: Any) -> tuple[CrewDay, ...]:
    """Return the plan with one of its blocks changed."""
    return tuple(replace(one, **changes) if one.key == key else one for one in PLAN)


def new_words(
    plan: tuple[CrewDay, ...],
    *,
    facts: Facts = ASH_WAITS,
    before: tuple[CrewDay, ...] = PLAN,
    placed_anew: str = "",
) -> list[str]:
    stood = told_of(before, facts, placed_anew=placed_anew)
    return [one.sentence for one in new_violations(plan, facts, stood)]


@pytest.mark.parametrize("day", [9, 10])
def test_wait_that_stood_broken_is_not_new_when_the_other_job_ends_later(day: int) -> None:
    assert new_words(changed("elm hang", date=june(day))) == []


def test_wait_that_stood_broken_is_not_new_when_the_other_job_has_no_day_left() -> None:
    assert new_words(tuple(one for one in PLAN if one.key != "elm hang")) == []


def test_wait_that_was_kept_is_new_when_it_breaks() -> None:
    later = changed("ash extra", date=june(9))
    assert new_words(later, before=later) == []
    both = tuple(
        replace(one, date=june(10)) if one.key == "elm hang" else one
        for one in changed("ash extra", date=june(9))
    )
    assert new_words(both, before=later) == [
        "Ash: other work on Tue Jun 9 07:00 comes too early: "
        "Elm comes first and is over on Wed Jun 10 13:00."
    ]


@pytest.mark.parametrize(
    "changes",
    [{"date": june(4)}, {"date": june(8), "start": dt.time(12)}, {"start": dt.time(10)}],
)
def test_block_that_is_put_elsewhere_and_breaks_the_rule_there_is_new(
    changes: dict[str, Any],
) -> None:
    words = new_words(changed("ash extra", **changes))
    assert any(one.startswith("Ash: other work") and "Elm comes first" in one for one in words)


def test_block_written_anew_with_another_key_is_no_other() -> None:
    plan = tuple(
        replace(one, key="7") if one.key == "ash extra" else one
        for one in changed("elm hang", date=june(9))
    )
    assert new_words(plan) == []


def test_what_was_overridden_stood_broken_too_but_for_the_block_placed_anew() -> None:
    known = Known(rule=Rule.AFTER, sentence="As it was.", key="ash extra", short_h=78.0)
    before = changed("ash extra", known=(known,))
    after = tuple(replace(one, date=june(9)) if one.key == "elm hang" else one for one in before)
    # 24 h more than the owner let pass: the calendar tells it, and it bars no other job's move.
    assert [one.rule for one in new_violations(after, ASH_WAITS)] == [Rule.AFTER]
    assert new_words(after, before=before) == []
    assert len(new_words(PLAN, before=before, placed_anew="ash extra")) == 1


def test_posts_that_harden_for_less_than_before_are_new_and_for_longer_are_not() -> None:
    # Set until Thu 4 15:00, the fast mix of Elm carries fabric from Fri 5 15:00; set until 13:00,
    # from Fri 5 13:00.
    hung = changed("elm hang", date=june(5), crew="a", start=dt.time(9))
    sooner = tuple(replace(one, hours=1) if one.key == "elm set" else one for one in hung)
    facts = facts_with()
    assert len(new_words(sooner, facts=facts, before=())) == 1
    assert new_words(sooner, facts=facts, before=hung) == []
    (words,) = new_words(hung, facts=facts, before=sooner)
    assert words.startswith(
        "Elm: hanging on Fri Jun 5 09:00 comes too early. As planned, posts are set Thu 15:00, fast"
    )


def test_day_that_was_too_long_is_not_new_with_less_on_it_and_is_with_more() -> None:
    # Crew A on Tue 9: 3 h of gates, 2 h of clean-up; with 7 h of gates 9 h, and 8 h are there.
    long = changed("oak gates", hours=7)
    facts = facts_with()
    assert new_words(long, facts=facts) == ["Crew A on Tue Jun 9, 2026: 9 h planned, 8 h there."]
    other = replace(PLAN[-1], crew="a", date=june(9), key="more")
    longer = (*long, other)
    assert new_words(longer, facts=facts, before=long) == [
        "Crew A on Tue Jun 9, 2026: 11 h planned, 8 h there."
    ]
    assert new_words(long, facts=facts, before=longer) == []
