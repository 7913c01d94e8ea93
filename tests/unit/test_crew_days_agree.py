"""The checker of crew days agrees with its rules said by hand; material and inspections."""

import pytest
from hypothesis import event, given, settings

from scheduling.engine.breaches import Rule
from scheduling.engine.crew_days import find_violations
from scheduling.engine.plan import CrewDay, Facts, Phase
from tests.plan_cases import ELM, OAK, PLAN, breaches, breaches_by_hand
from tests.plan_worlds import facts_with, plans, with_inspection, with_material, worlds


@settings(max_examples=400)
@given(plan=plans(), facts=worlds())
def test_checker_agrees_with_the_rules_said_by_hand(
    plan: tuple[CrewDay, ...], facts: Facts
) -> None:
    by_hand = breaches_by_hand(plan, facts)
    event("passed" if not by_hand else "broken")
    for rule in {rule for rule, _ in by_hand}:
        event(rule)
    assert breaches(find_violations(plan, facts)) == by_hand


@pytest.mark.parametrize(
    ("days", "is_broken"),
    # Elm is dug and set on Thu 4.
    [
        ({}, True),
        ({"booked": 5}, True),
        ({"booked": 4}, False),
        ({"booked": 3}, False),
        ({"passed": 4}, False),
        ({"passed": 5}, True),
        # Booked for the 3rd, seen on the 5th: the date of the pass is what counts.
        ({"booked": 3, "passed": 5}, True),
    ],
)
def test_open_inspection_bars_the_pour_and_not_the_morning_s_digging(
    days: dict[str, int], is_broken: bool
) -> None:
    facts = facts_with(elm=with_inspection(ELM, **days))
    expected = {(Rule.INSPECTION, "elm set")} if is_broken else set()
    assert breaches(find_violations(PLAN, facts)) == expected
    assert breaches_by_hand(PLAN, facts) == expected


@pytest.mark.parametrize(
    ("days", "is_broken"),
    # Oak hangs on Mon 8; today is Mon 1.
    [
        ({}, True),
        ({"received": 8}, False),
        ({"received": 9}, True),
        ({"promised": 7}, False),
        # It comes in the course of that day, after the crew has left.
        ({"promised": 8}, True),
        # A promise of May 31 was broken: nothing came.
        ({"promised": 0}, True),
        ({"promised": 1}, False),
        ({"promised": 3, "received": 9}, True),
    ],
)
def test_phase_waits_for_its_material(days: dict[str, int], is_broken: bool) -> None:
    facts = facts_with(oak=with_material(OAK, Phase.HANG, **days))
    expected = {(Rule.MATERIAL, "oak hang")} if is_broken else set()
    assert breaches(find_violations(PLAN, facts)) == expected
    assert breaches_by_hand(PLAN, facts) == expected


def test_nothing_is_dug_before_the_posts_are_there() -> None:
    facts = facts_with(oak=with_material(OAK, Phase.SET, received=5))
    # Taking out the old fence needs no posts.
    expected = {(Rule.MATERIAL, "oak dig"), (Rule.MATERIAL, "oak set")}
    assert breaches(find_violations(PLAN, facts)) == expected
    assert breaches_by_hand(PLAN, facts) == expected
