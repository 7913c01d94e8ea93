"""What covers the needs of jobs: the site, the yard, orders, buying; for any set of them."""

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.buying import (
    Arrival,
    Incoming,
    Need,
    arrival_of,
    cover,
    last_day_to_order,
)

MAY_4 = dt.date(2026, 5, 4)
DAYS = st.one_of(st.none(), st.dates(MAY_4, dt.date(2026, 6, 30)))
ITEMS = st.sampled_from(["post", "bag", "rail"])
JOBS = st.integers(1, 4)
COUNTS = st.integers(0, 60)
NEEDS = st.dictionaries(st.tuples(JOBS, ITEMS), st.tuples(COUNTS, DAYS), max_size=12)
INCOMING = st.lists(st.tuples(ITEMS, COUNTS, DAYS, st.one_of(st.none(), JOBS)), max_size=8)


def made_needs(drawn: dict[tuple[int, str], tuple[int, dt.date | None]]) -> list[Need]:
    return [
        Need(job=job, phase="set", item=item, count=count, day=day, number=job)
        for (job, item), (count, day) in drawn.items()
    ]


def made_incoming(
    drawn: list[tuple[str, int, dt.date | None, int | None]],
) -> list[Incoming]:
    return [
        Incoming(line=line, item=item, count=count, promised_on=day, job=job)
        for line, (item, count, day, job) in enumerate(drawn)
    ]


@given(
    NEEDS,
    st.dictionaries(ITEMS, COUNTS),
    st.dictionaries(st.tuples(JOBS, ITEMS), COUNTS),
    INCOMING,
)
def test_what_covers_a_need_adds_up_and_nothing_is_taken_twice(
    drawn: dict[tuple[int, str], tuple[int, dt.date | None]],
    yard: dict[str, int],
    at_sites: dict[tuple[int, str], int],
    orders: list[tuple[str, int, dt.date | None, int | None]],
) -> None:
    needs, incoming = made_needs(drawn), made_incoming(orders)

    found = cover(needs, yard=yard, at_sites=at_sites, incoming=incoming)

    assert {(one.need.job, one.need.item) for one in found} == set(drawn)
    for one in found:
        parts = (one.at_site, one.from_yard, one.on_order, one.to_buy)
        assert min(parts) >= 0
        assert sum(parts) == one.need.count
    for item in ("post", "bag", "rail"):
        mine = [one for one in found if one.need.item == item]
        taken = sum(one.from_yard for one in mine)
        assert taken <= yard.get(item, 0)
        # Nothing is bought while it lies in the yard.
        assert taken == yard.get(item, 0) or not any(one.to_buy for one in mine)
    for line in incoming:
        taken = sum(
            each.count for one in found for each in one.from_orders if each.line == line.line
        )
        assert taken <= line.count
        takers = {
            one.need.job for one in found for each in one.from_orders if each.line == line.line
        }
        assert line.job is None or takers <= {line.job}
    for one in found:
        assert one.at_site <= at_sites.get((one.need.job, one.need.item), 0)


def test_who_builds_first_takes_first() -> None:
    # 10 in the yard; job 2 builds on May 8 and needs 6, job 1 on May 11 and needs 14: it gets 4.
    late = Need(job=1, phase="set", item="post", count=14, day=dt.date(2026, 5, 11), number=1)
    early = Need(job=2, phase="set", item="post", count=6, day=dt.date(2026, 5, 8), number=2)

    found = cover([late, early], yard={"post": 10}, at_sites={}, incoming=[])

    assert [(one.need.job, one.from_yard, one.to_buy) for one in found] == [(2, 6, 0), (1, 4, 10)]


def test_order_to_a_site_spares_the_yard_for_the_others() -> None:
    need = Need(job=1, phase="set", item="post", count=8, day=MAY_4)
    own = Incoming(line=5, item="post", count=8, job=1)

    (one,) = cover([need], yard={"post": 10}, at_sites={}, incoming=[own])

    assert (one.from_yard, one.on_order) == (0, 8)


def test_phase_waits_for_the_last_promise_and_for_none_that_is_missing() -> None:
    need = Need(job=1, phase="set", item="post", count=8, day=MAY_4)
    first = Incoming(line=1, item="post", count=5, promised_on=dt.date(2026, 5, 6))
    second = Incoming(line=2, item="post", count=5, promised_on=dt.date(2026, 5, 9))

    def stands(*incoming: Incoming, yard: int = 0) -> Arrival:
        return arrival_of(cover([need], yard={"post": yard}, at_sites={}, incoming=incoming))

    assert stands(first, second) == Arrival(is_here=False, promised_on=dt.date(2026, 5, 9))
    assert stands(first) == Arrival(is_here=False, promised_on=None)
    unpromised = Incoming(line=3, item="post", count=5)
    assert stands(first, unpromised) == Arrival(is_here=False, promised_on=None)
    assert stands(first, yard=8) == Arrival(is_here=True, promised_on=None)


def test_lead_days_are_taken_off_the_day_it_is_needed() -> None:
    assert last_day_to_order(dt.date(2026, 5, 11), lead_days=5) == dt.date(2026, 5, 6)
