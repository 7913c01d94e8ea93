"""A receipt that was written down wrongly: taken back by a row of its own, and all that follows."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from estimating.models import Supplier
from firm.errors import Refusal
from firm.models import Role
from scheduling.models import (
    FenceJob,
    JobCost,
    OrderLine,
    PurchaseOrder,
    Receipt,
    StockMove,
    YardStock,
)
from scheduling.selectors.margin import job_margin
from scheduling.services.costs import add_cost, correct_cost
from scheduling.services.receipts import Came, receive, take_back
from scheduling.services.stock import load_items, return_leftovers
from tests.buying_cast import POST, lies
from tests.buying_steps import comes, days_of, row_of, sent
from tests.cast import make_person
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
Jobs = tuple[FenceJob, FenceJob]
Suppliers = tuple[Supplier, Supplier]
PRICE = Decimal("38.00")


def undo(receipt: Receipt, count: int, *, damaged: int = 0, reason: str = "Miscounted") -> Receipt:
    came = Came(count=count, damaged=damaged)
    return take_back(receipt=receipt, came=came, reason=reason, actor=None, now=NOW)


def last(order: PurchaseOrder) -> Receipt:
    return Receipt.objects.filter(line__order=order).latest("pk")


def material_of(job: FenceJob) -> Decimal:
    found = job_margin(job.pk, now=NOW)
    assert found is not None
    return next(kind.cost.actual for kind in found.margin.kinds if kind.key == "material")


def to_site(job: FenceJob, supplier: Supplier, *, price: str, count: int) -> PurchaseOrder:
    """Return a sent order to a job's site at a price of its own."""
    order = sent(supplier, job=job, post=count)
    # Sent lines never change: this one is made anew, as it would have been drafted.
    OrderLine.objects.bulk_create(
        [OrderLine(order=order, item="rail", name="Rail", count=count, unit_cost=Decimal(price))]
    )
    return order


class TestYard:
    def test_stock_what_is_to_come_and_the_days_follow(
        self, jobs: Jobs, suppliers: Suppliers
    ) -> None:
        order = sent(suppliers[0], post=20, rail=36)
        comes(order, POST, 20)
        rails = order.lines.get(item="rail")
        receive(
            order=order, came={rails.pk: Came(count=36)}, received_on=TODAY, actor=None, now=NOW
        )
        assert days_of(jobs[1], "hang") == (None, TODAY)
        receipt = Receipt.objects.get(line=rails)

        row = undo(receipt, 36)

        # 36 rails: 25 and 11 (buying_cast). None lies there now and all are to come again.
        assert (row.count, row.note, row.takes_back) == (-36, "Miscounted", receipt)
        assert days_of(jobs[1], "hang") == (None, None)
        assert StockMove.objects.latest("pk").change == -36
        assert receipt.line.receipts.count() == 2
        assert lies(POST) == 20
        assert not JobCost.objects.exists()  # what lies in the yard is no job's yet

    def test_part_of_it_may_be_right_and_the_rest_is_received_anew(
        self, jobs: Jobs, suppliers: Suppliers
    ) -> None:
        order = sent(suppliers[0], post=20)
        comes(order, POST, 18, damaged=2)
        undo(last(order), 3, damaged=2)
        assert lies(POST) == 15
        assert row_of(POST).needed == 20
        comes(order, POST, 5)  # 15 + 5 are the 20 ordered: nobody asks
        assert lies(POST) == 20

    @pytest.mark.parametrize(
        ("count", "damaged", "reason", "field"),
        [
            (21, 0, "x", "count"),
            (-1, 0, "x", "count"),
            (0, 1, "x", "damaged"),
            (0, 0, "x", "count"),
            (5, 0, "  ", "reason"),
        ],
    )
    def test_no_more_than_was_received_and_not_without_a_reason(
        self, suppliers: Suppliers, crew: Any, count: int, damaged: int, reason: str, field: str
    ) -> None:
        order = sent(suppliers[0], post=20)
        comes(order, POST, 20)
        with pytest.raises(Refusal) as refused:
            undo(last(order), count, damaged=damaged, reason=reason)
        assert refused.value.field == field
        assert lies(POST) == 20

    def test_not_twice_and_not_what_left_the_yard(self, jobs: Jobs, suppliers: Suppliers) -> None:
        order = sent(suppliers[0], post=20)
        comes(order, POST, 20)
        receipt = last(order)
        load_items(job=jobs[0], counts={POST: 14}, moved_on=TODAY, actor=None, now=NOW)
        with pytest.raises(Refusal, match="Only 6 of it lie in the yard"):
            undo(receipt, 7)
        assert not Receipt.objects.filter(takes_back=receipt).exists()
        row = undo(receipt, 6)
        with pytest.raises(Refusal, match="taken back before"):
            undo(receipt, 1)
        with pytest.raises(Refusal, match="takes a receipt back itself"):
            undo(row, 1)
        assert lies(POST) == 0


class TestCost:
    def test_what_came_to_a_site_is_its_jobs_cost_once_and_goes_with_the_receipt(
        self, jobs: Jobs, suppliers: Suppliers
    ) -> None:
        order = sent(suppliers[0], job=jobs[0], post=14)
        comes(order, POST, 10)
        comes(order, POST, 4)
        # 10 at 38.00 are 380.00, 4 are 152.00.
        assert [row.amount for row in jobs[0].costs.all()] == [Decimal(380), Decimal(152)]
        assert material_of(jobs[0]) == Decimal(532)
        undo(last(order), 4)
        assert material_of(jobs[0]) == Decimal(380)
        undo(Receipt.objects.filter(line__order=order).earliest("pk"), 10)
        assert material_of(jobs[0]) == 0
        assert material_of(jobs[1]) == 0

    def test_cents_of_a_line_add_up_to_all_that_came_of_it(
        self, jobs: Jobs, suppliers: Suppliers
    ) -> None:
        order = to_site(jobs[0], suppliers[0], price="0.3333", count=3)
        line = order.lines.get(item="rail")
        for _ in range(3):
            came = {line.pk: Came(count=1)}
            receive(order=order, came=came, received_on=TODAY, actor=None, now=NOW)
        # 0.3333, 0.6666 and 0.9999 are 0.33, 0.67 and 1.00: each delivery is what it adds.
        amounts = [row.amount for row in jobs[0].costs.all()]
        assert amounts == [Decimal("0.33"), Decimal("0.34"), Decimal("0.33")]
        undo(line.receipts.all()[1], 1)
        assert material_of(jobs[0]) == Decimal("0.67")  # two of them

    def test_nothing_that_came_back_from_the_site_is_taken_back(
        self, jobs: Jobs, suppliers: Suppliers
    ) -> None:
        order = sent(suppliers[0], job=jobs[0], post=14)
        comes(order, POST, 14)
        return_leftovers(
            job=jobs[0], counts={POST: 5}, limits={}, moved_on=TODAY, actor=None, now=NOW
        )
        with pytest.raises(Refusal, match="5 of it came back from the site"):
            undo(last(order), 10)
        undo(last(order), 9)
        # 14 came, 9 did not after all, 5 lie in the yard: nothing is left of its cost.
        assert material_of(jobs[0]) == 0
        assert YardStock.objects.get(item="post").worth == 5 * PRICE

    def test_invoice_counts_instead_of_the_deliveries_on_it(
        self, jobs: Jobs, suppliers: Suppliers
    ) -> None:
        order = sent(suppliers[0], job=jobs[0], post=14)
        comes(order, POST, 10)
        comes(order, POST, 4)
        first, second = jobs[0].costs.order_by("pk")
        office = make_person(Role.OFFICE)
        values = {"kind": "material", "description": "Invoice 7", "supplier": "Quarry Bend"}
        values |= {"spent_on": TODAY, "amount": Decimal("411.35")}  # type: ignore[dict-item]
        bill = add_cost(job=jobs[0], values=values, covers=[first.pk], actor=office, now=NOW)
        # 411.35 with its tax in place of 380.00, and the 152.00 that no invoice has yet.
        assert material_of(jobs[0]) == Decimal("563.35")
        other = values | {"description": "Invoice 8"}
        with pytest.raises(Refusal, match="Another invoice covers"):
            add_cost(job=jobs[0], values=other, covers=[first.pk], actor=office, now=NOW)
        with pytest.raises(Refusal, match="A delivery wrote this"):
            correct_cost(cost=second, values=values, actor=office, now=NOW)
        correct_cost(cost=bill, values=values, covers=[second.pk], actor=office, now=NOW)
        # 411.35 and the 380.00 that is open again.
        assert material_of(jobs[0]) == Decimal("791.35")


class TestDatabase:
    def test_refuses_what_no_service_writes(self, jobs: Jobs, suppliers: Suppliers) -> None:
        order = sent(suppliers[0], job=jobs[0], post=14)
        comes(order, POST, 14)
        receipt = last(order)
        base = {"line": receipt.line, "received_on": TODAY, "written_at": NOW}
        cost = {"job": jobs[0], "description": "x", "spent_on": TODAY, "recorded_at": NOW}
        undo(receipt, 2)
        refused: list[tuple[str, Callable[[], Any]]] = [
            ("receipt_comes_or_is_taken_back", lambda: Receipt.objects.create(**base, count=-1)),
            (
                "receipt_comes_or_is_taken_back",
                lambda: Receipt.objects.create(**base, count=-1, takes_back=receipt, note=""),
            ),
            (
                "takes_back",
                lambda: Receipt.objects.create(**base, count=-1, takes_back=receipt, note="x"),
            ),
            (
                "what_came_of_an_order_is_material",
                lambda: JobCost.objects.create(**cost, amount=1, order=order, kind="fee"),
            ),
            (
                "an_invoice_covers_what_came",
                lambda: JobCost.objects.create(**cost, amount=1, invoice=jobs[0].costs.all()[0]),
            ),
            ("kept", lambda: Receipt.objects.filter(pk=receipt.pk).update(count=3)),
            ("kept", lambda: Receipt.objects.filter(pk=receipt.pk).update(takes_back=receipt)),
        ]
        for named, write in refused:
            with pytest.raises(IntegrityError, match=named), transaction.atomic():
                write()
