"""Signs that a job goes bad: each at its limit, where it is silent, and just over it."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from scheduling.engine.margin_signs import (
    Concrete,
    Digging,
    FirstDay,
    SignFacts,
    signs_of,
)

D = Decimal
TUESDAY = dt.date(2026, 6, 2)
DAY = dt.timedelta(days=1)


def codes(**facts: Any) -> list[str]:
    return [sign.code for sign in signs_of(SignFacts(**({"today": TUESDAY} | facts)))]


def words(**facts: Any) -> str:
    (sign,) = signs_of(SignFacts(**({"today": TUESDAY} | facts)))
    return sign.words


def first_day(*, posts_set: int, part: str = "1") -> FirstDay:
    return FirstDay(day=TUESDAY - DAY, planned_part=D(part), posts_set=posts_set)


def test_job_of_which_nothing_is_known_shows_no_sign() -> None:
    assert codes() == []


@pytest.mark.parametrize(
    ("posts_set", "part", "found"),
    [
        # 80 % of 15 posts is 12; of two thirds of 15, 8.
        (12, "1", []),
        (11, "1", ["slow-first-day"]),
        (8, str(D(2) / D(3)), []),
        (7, str(D(2) / D(3)), ["slow-first-day"]),
    ],
)
def test_posts_under_80_per_cent_of_the_first_days_plan(
    posts_set: int, part: str, found: list[str]
) -> None:
    assert codes(posts=15, first_day=first_day(posts_set=posts_set, part=part)) == found


def test_slow_first_day_in_words() -> None:
    assert words(posts=13, first_day=first_day(posts_set=8)) == (
        "8 posts were set by the end of Mon Jun 1, 2026, the first day; the plan was 13."
    )


@pytest.mark.parametrize(
    ("used", "done", "posts", "found"),
    [
        # 26 bags for 13 posts are 2 a post; 1.25 x 2 = 2.5: 20 bags in 8 posts.
        ("20", 8, 13, []),
        ("20.5", 8, 13, ["many-bags"]),
        ("20.5", 0, 13, []),
        ("20.5", 8, 0, []),
    ],
)
def test_bags_over_one_and_a_quarter_of_the_plan(
    used: str, done: int, posts: int, found: list[str]
) -> None:
    assert codes(posts=posts, concrete=Concrete(planned=26, used=D(used), posts_done=done)) == found


def test_bags_without_a_plan_show_nothing() -> None:
    assert codes(posts=13, concrete=Concrete(planned=0, used=D(20), posts_done=8)) == []


def test_many_bags_in_words() -> None:
    assert words(posts=13, concrete=Concrete(planned=26, used=D(22), posts_done=8)) == (
        "2.75 bags go into a post; the plan is 2."
    )


def test_trip_that_was_not_in_the_plan() -> None:
    assert codes(trips_planned=2, trips_made=2) == []
    assert codes(trips_planned=0, trips_made=2) == []
    assert words(trips_planned=2, trips_made=3) == "3 days out so far; the plan was 2."


@pytest.mark.parametrize(
    ("worked", "left", "found"),
    [
        # 30 % of 10 posts are 3.
        ("6.31", 4, ["slow-digging"]),
        ("6.31", 3, []),
        ("6.3", 4, []),
    ],
)
def test_digging_over_its_hours_with_many_holes_left(
    worked: str, left: int, found: list[str]
) -> None:
    digging = Digging(planned_hours=D("6.3"), worked_hours=D(worked), posts_left=left)
    assert codes(posts=10, digging=digging) == found
    assert codes(posts=0, digging=digging) == []


def test_slow_digging_in_words() -> None:
    digging = Digging(planned_hours=D("6.3"), worked_hours=D("9.5"), posts_left=5)
    assert words(posts=13, digging=digging) == (
        "Digging took 9.5 h of the 6.3 h planned, and 5 of 13 posts are not set."
    )


@pytest.mark.parametrize(
    ("drafts", "noted", "said"),
    [
        (1, 0, "1 change order not signed: it is not paid for."),
        (0, 2, "Extra work noted on 2 reports: it is not paid for."),
        (
            2,
            1,
            "2 change orders not signed and extra work noted on 1 report: it is not paid for.",
        ),
    ],
)
def test_extras_nobody_signed(drafts: int, noted: int, said: str) -> None:
    assert words(drafts=drafts, extras_noted=noted) == said


def test_less_received_than_material_is_bought_or_ordered() -> None:
    assert codes(received=D(1500), committed=D(1500)) == []
    assert codes(received=D(0), committed=D(1500), finished_on=TUESDAY) == []
    assert words(received=D(1000), committed=D("1500.01")) == (
        "Payments written down: $1,000.00. Material bought or ordered: $1,500.01."
    )


@pytest.mark.parametrize(
    ("days", "invoiced_on", "owed", "found"),
    [
        (3, None, "100", []),
        (4, None, "100", ["not-invoiced"]),
        (4, TUESDAY, "100", []),
        (4, None, "0", []),
    ],
)
def test_finished_for_more_than_3_days_without_an_invoice(
    days: int, invoiced_on: dt.date | None, owed: str, found: list[str]
) -> None:
    facts = {"finished_on": TUESDAY - days * DAY, "invoiced_on": invoiced_on, "owed": D(owed)}
    assert codes(**facts) == found


@pytest.mark.parametrize(
    ("days", "owed", "found"),
    [(15, "100", []), (16, "100", ["not-paid"]), (16, "0", []), (16, "-5", [])],
)
def test_balance_open_for_more_than_15_days(days: int, owed: str, found: list[str]) -> None:
    facts = {"finished_on": TUESDAY - 30 * DAY, "invoiced_on": TUESDAY - days * DAY}
    assert codes(**facts, owed=D(owed)) == found


def test_money_signs_in_words() -> None:
    assert words(finished_on=TUESDAY - 4 * DAY, owed=D(1)) == (
        "Finished 4 days ago, and no balance invoice."
    )
    assert words(invoiced_on=TUESDAY - 16 * DAY, owed=D(1250)) == (
        "$1,250.00 still to be paid, 16 days after the balance invoice."
    )
