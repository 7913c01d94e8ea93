"""For any run of moves the yard's count and worth are the sums of its moves, never below zero."""

from collections.abc import Callable
from contextlib import suppress
from decimal import Decimal

import pytest
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from estimating.models import Supplier
from firm.errors import Refusal
from scheduling.models import FenceJob, PurchaseOrder, StockMove, YardStock
from scheduling.services import orders, receipts, stock
from tests.buying_cast import BAG, POST, make_suppliers, make_two_jobs
from tests.crew_cast import make_red_crew
from tests.factories import NOW, TODAY, make_firm

ITEMS = st.sampled_from([POST, BAG])
STEPS = st.lists(
    st.tuples(
        st.sampled_from(["receive", "load", "return", "correct"]), ITEMS, st.integers(-3, 40)
    ),
    max_size=12,
)
Steps = list[tuple[str, stock.StockItem, int]]


@pytest.mark.django_db
class TestYard(TestCase):
    """The database is emptied after each example."""

    @settings(max_examples=25, suppress_health_check=list(HealthCheck))
    @given(STEPS)
    def test_count_is_the_sum_of_the_moves(self, steps: Steps) -> None:
        make_firm()
        job, _ = make_two_jobs(make_red_crew())
        order = _order_of(make_suppliers()[0])
        acts: dict[str, Callable[[stock.StockItem, int], object]] = {
            "receive": lambda item, count: _receive(order, item, count),
            "load": lambda item, count: _load(job, item, count),
            "return": lambda item, count: _return(job, item, count),
            "correct": _correct,
        }
        for name, item, count in steps:
            # A refused step changes nothing; the sums below would tell.
            with suppress(Refusal):
                acts[name](item, count)
            for row in YardStock.objects.annotate(sum=Sum("moves__change")):
                assert row.count == (row.sum or 0)
                assert row.count >= 0
            for lying in YardStock.objects.all():
                assert lying.worth == sum(lying.moves.values_list("worth", flat=True)) >= 0
                assert lying.count or not lying.worth
        out = StockMove.objects.filter(job=job).aggregate(sum=Sum("change"))["sum"] or 0
        # No more comes back than went out.
        assert out <= 0
        # To the cent: what left the yard for the job is what the job cost, never below nothing.
        moved = sum(StockMove.objects.filter(job=job).values_list("worth", flat=True))
        cost = sum(job.costs.values_list("amount", flat=True))
        assert cost == -moved >= 0


def _order_of(supplier: Supplier) -> PurchaseOrder:
    lines = [
        orders.DraftLine(
            item=one.item, name=one.name, unit=one.unit, count=60, unit_cost=Decimal(5)
        )
        for one in (POST, BAG)
    ]
    draft = orders.draft_order(
        supplier_id=supplier.pk, lines=lines, job=None, needed_by=None, actor=None, now=NOW
    )
    return orders.send_order(order=draft, to="", actor=None, now=NOW)


def _receive(order: PurchaseOrder, item: stock.StockItem, count: int) -> None:
    came = {order.lines.get(item=item.item).pk: receipts.Came(count=count)}
    receipts.receive(order=order, came=came, received_on=TODAY, actor=None, now=NOW)


def _load(job: FenceJob, item: stock.StockItem, count: int) -> None:
    stock.load_items(job=job, counts={item: count}, moved_on=TODAY, actor=None, now=NOW)


def _return(job: FenceJob, item: stock.StockItem, count: int) -> None:
    stock.return_leftovers(
        job=job, counts={item: count}, limits={}, moved_on=TODAY, actor=None, now=NOW
    )


def _correct(item: stock.StockItem, count: int) -> None:
    stock.correct_stock(item=item, counted=count, seen=None, reason="x", actor=None, now=NOW)
