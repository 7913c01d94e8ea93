"""By when a call still saves planned digging that comes after its ticket's end, counted by hand."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

import pytest

from firm.measure.locate import LocateRule
from scheduling.engine.plan import CrewDay, Facts, Phase
from scheduling.engine.standing import State
from scheduling.engine.ticket_call import ticket_call
from tests.plan_cases import ELM, FACTS, PLAN, june
from tests.plan_worlds import changed, facts_with, with_ticket

# Three full working days, the day of the call not counted.
RULE = LocateRule(
    notice=3,
    notice_kind="working",
    earliest_call_days=10,
    life_days=20,
    life_kind="calendar",
    life_from="call",
    renew_days_before=2,
)
# Elm's ticket ends on Fri 12. A call on Tue 9 counts Wed, Thu and Fri, and is clear on Mon 15.
LATE = changed("elm dig", date=june(15))
SAVES = "Call again by Tue Jun 9, 2026: that still saves it."


def call(plan: Sequence[CrewDay], facts: Facts = FACTS) -> str:
    return ticket_call("elm", plan, facts, RULE)


def test_digging_before_the_ticket_s_end_asks_for_no_call() -> None:
    assert call(PLAN) == ""
    assert call(changed("elm dig", date=june(12))) == ""


def test_digging_after_the_end_is_saved_by_a_call_three_working_days_before() -> None:
    assert call(LATE) == (
        "Elm: Locate ticket T-1 ends on Fri Jun 12, 2026, and digging comes on Mon Jun 15, 2026. "
        + SAVES
    )


def test_rain_that_pushes_digging_past_the_end_counts() -> None:
    friday = changed("elm dig", date=june(12))
    wet = replace(FACTS, wet_days={june(12): 0.8}, rain_limit_in={Phase.DIG: 0.5})
    assert call(friday, wet) == (
        "Elm: Locate ticket T-1 ends on Fri Jun 12, 2026, and digging comes on Mon Jun 15, 2026 "
        f"because of the rain. {SAVES}"
    )
    # On Thu 11 it rains as well, and Fri 12 is dry: the ticket holds.
    thursday = changed("elm dig", date=june(11))
    assert call(thursday, replace(wet, wet_days={june(11): 0.8})) == ""


def test_day_too_late_to_call_names_the_first_day_a_call_today_would_clear() -> None:
    # On Wed 10: Thu, Fri and Mon are counted, so Tue 16.
    assert call(LATE, replace(FACTS, today=june(10))).endswith(
        "A call today comes too late for that: dig from Tue Jun 16, 2026 on."
    )


@pytest.mark.parametrize("state", [State.ASKED, State.NOT_NEEDED, State.NOT_ASKED])
def test_ticket_that_is_not_clear_has_words_of_its_own(state: State) -> None:
    assert call(LATE, facts_with(elm=with_ticket(ELM, state=state))) == ""


def test_digging_that_is_done_or_past_asks_for_nothing() -> None:
    assert call(LATE, facts_with(elm=replace(ELM, done=frozenset({Phase.DIG})))) == ""
    assert call(LATE, replace(FACTS, today=june(15) + dt.timedelta(days=1))) == ""


def test_where_no_dry_day_is_in_sight_the_plan_s_own_day_counts() -> None:
    rain = {june(12) + dt.timedelta(days=number): 2.0 for number in range(90)}
    wet = replace(FACTS, wet_days=rain, rain_limit_in={Phase.DIG: 0.5})
    assert call(changed("elm dig", date=june(12)), wet) == ""
