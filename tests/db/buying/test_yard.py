"""The yard: what is loaded, brought back and counted."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from estimating.models import Supplier
from firm.errors import Refusal
from scheduling.models import (
    Crew,
    FenceJob,
    Receipt,
    StockMove,
    YardStock,
)
from scheduling.services.stock import (
    correct_stock,
    load_items,
    return_leftovers,
)
from tests.buying_cast import (
    POST,
    lies,
    needs,
    put_in,
)
from tests.buying_steps import (
    comes,
    row_of,
    sent,
)
from tests.crew_cast import make_full_job
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


def test_loaded_material_leaves_the_yard_and_the_list(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    put_in(POST, 10)

    load_items(job=jobs[1], counts={POST: 6}, moved_on=TODAY, actor=None, now=NOW)

    assert lies(POST) == 4
    assert (row_of(POST).needed, row_of(POST).in_yard, row_of(POST).to_buy) == (14, 4, 10)


def test_no_more_is_loaded_than_lies_there(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    put_in(POST, 5)

    with pytest.raises(Refusal, match="Only 5 of it lie in the yard") as refused:
        load_items(job=jobs[1], counts={POST: 6}, moved_on=TODAY, actor=None, now=NOW)

    assert refused.value.field == "post"
    assert lies(POST) == 5


def test_second_phone_that_loads_the_same_is_told_so(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    put_in(POST, 20)
    seen = {"post": 0}
    load_items(job=jobs[1], counts={POST: 6}, seen=seen, moved_on=TODAY, actor=None, now=NOW)

    with pytest.raises(Refusal, match="6 are on the truck"):
        load_items(job=jobs[1], counts={POST: 6}, seen=seen, moved_on=TODAY, actor=None, now=NOW)

    assert lies(POST) == 14


def test_leftovers_come_back_and_the_next_job_takes_them(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    put_in(POST, 6)
    load_items(job=jobs[1], counts={POST: 6}, moved_on=TODAY, actor=None, now=NOW)
    jobs[1].phases.filter(kind="set").update(finished_on=TODAY)

    with pytest.raises(Refusal, match="Only 6 of it went out"):
        return_leftovers(
            job=jobs[1], counts={POST: 7}, limits={}, moved_on=TODAY, actor=None, now=NOW
        )
    return_leftovers(job=jobs[1], counts={POST: 2}, limits={}, moved_on=TODAY, actor=None, now=NOW)

    # Job 11 needs 14: the 2 leftovers, and 12 to buy.
    assert (row_of(POST).needed, row_of(POST).in_yard, row_of(POST).to_buy) == (14, 2, 12)


def test_count_is_put_right_with_a_reason_and_never_below_zero(crew: Crew) -> None:
    put_in(POST, 10)

    with pytest.raises(Refusal) as refused:
        correct_stock(item=POST, counted=-1, seen=None, reason="x", actor=None, now=NOW)
    assert refused.value.field == "counted"
    with pytest.raises(Refusal) as refused:
        correct_stock(item=POST, counted=8, seen=None, reason=" ", actor=None, now=NOW)
    assert refused.value.field == "reason"
    with pytest.raises(Refusal, match="It says 10 by now, not 12"):
        correct_stock(item=POST, counted=8, seen=12, reason="Two split", actor=None, now=NOW)

    correct_stock(item=POST, counted=8, seen=10, reason="Two split", actor=None, now=NOW)

    assert lies(POST) == 8
    assert list(StockMove.objects.order_by("pk").values_list("change", flat=True)) == [10, -2]


def test_moves_and_receipts_are_kept_and_the_count_is_never_negative(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    comes(sent(suppliers[0], post=20), POST, 20)

    for rows, changes in (
        (StockMove.objects, {"change": 99}),
        (Receipt.objects, {"count": 99}),
        (YardStock.objects, {"count": -1}),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.update(**changes)


def test_lists_take_no_query_more_for_more_jobs(
    crew: Crew,
    suppliers: tuple[Supplier, Supplier],
    django_assert_max_num_queries: object,
) -> None:
    for number in range(31, 37):
        job = needs(make_full_job(number, on=TODAY), post=14, bag=52, rail=25)
        job.phases.update(material_received_on=None)

    # Jobs, phases, their days from orders, crew days, moves, receipts, take-offs, ground,
    # stock, orders, suppliers, drafts.
    with django_assert_max_num_queries(12):  # type: ignore[operator]
        assert row_of(POST).needed == 84
