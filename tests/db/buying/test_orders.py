"""Purchase orders, from draft to cancelled."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from estimating.models import Supplier
from firm.errors import Refusal
from firm.models import AuditEntry, FirmProfile, OutgoingMail
from scheduling.models import (
    FenceJob,
    OrderLine,
    PurchaseOrder,
)
from scheduling.models.orders import OrderIsFinalError
from scheduling.services import orders
from tests.buying_cast import (
    POST,
)
from tests.buying_steps import (
    comes,
    draft,
    line_of,
    row_of,
    sent,
)
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


def test_sent_order_has_the_next_number_and_never_changes(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    FirmProfile.objects.update(next_order_number=77)

    order = sent(suppliers[0], post=10, rail=36)

    assert (order.number, order.sent_on, FirmProfile.objects.get().next_order_number) == (
        77,
        TODAY,
        78,
    )
    # 10 x 38.00 + 36 x 38.00 = 46 x 38.00 = 1,748.00.
    assert (order.content["total"], order.content["supplier"]["account_number"]) == (
        "$1,748.00",
        "K-41",
    )
    with pytest.raises(OrderIsFinalError):
        order.save()
    with pytest.raises(OrderIsFinalError):
        PurchaseOrder.objects.update(note="More")
    with pytest.raises(OrderIsFinalError):
        order.lines.all()[0].save()
    with pytest.raises(IntegrityError), transaction.atomic():
        OrderLine.objects.update(count=99)
    with pytest.raises(Refusal, match="sent already"):
        orders.change_draft(order=order, values={}, counts={}, unit_costs={}, actor=None, now=NOW)


def test_second_office_that_sends_the_same_draft_is_told_so(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    order = draft(suppliers[0], post=10)
    seen_by_another = PurchaseOrder.objects.get(pk=order.pk)

    orders.send_order(order=order, to="", actor=None, now=NOW)
    with pytest.raises(Refusal, match="sent already"):
        orders.send_order(order=seen_by_another, to="", actor=None, now=NOW)

    assert PurchaseOrder.objects.count() == 1
    assert FirmProfile.objects.get().next_order_number == 1002
    assert AuditEntry.objects.filter(action="sent a purchase order").count() == 1


def test_one_draft_stands_for_each_supplier(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    draft(suppliers[0], post=10)

    with pytest.raises(Refusal, match="draft to this supplier"):
        draft(suppliers[0], rail=2)


def test_order_is_printed_and_mailed_to_the_supplier(
    jobs: tuple[FenceJob, FenceJob],
    suppliers: tuple[Supplier, Supplier],
    django_capture_on_commit_callbacks: object,
) -> None:
    order = draft(suppliers[0], post=10)
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        orders.send_order(order=order, to="sales@quarry.example", actor=None, now=NOW)

    order.refresh_from_db()
    with order.pdf.open("rb") as file:
        assert file.read(5) == b"%PDF-"
    mail = OutgoingMail.objects.get()
    assert mail.to == "sales@quarry.example"
    assert mail.attachments.get().name == "order-1001.pdf"


def test_cancelled_order_is_to_be_bought_again_but_what_came_stays(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    order = sent(suppliers[0], post=20)
    comes(order, POST, 5)
    assert (row_of(POST).in_yard, row_of(POST).on_order, row_of(POST).to_buy) == (5, 15, 0)

    with pytest.raises(Refusal) as refused:
        orders.cancel_order(order=order, reason=" ", actor=None, now=NOW)
    assert refused.value.field == "reason"
    orders.cancel_order(order=order, reason="Too late", actor=None, now=NOW)

    assert (row_of(POST).in_yard, row_of(POST).on_order, row_of(POST).to_buy) == (5, 0, 15)
    with pytest.raises(Refusal, match="not on its way"):
        comes(order, POST, 1)


@pytest.mark.parametrize("count", [-1, 100_001])
def test_draft_refuses_a_count_that_is_none(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier], count: int
) -> None:
    order = draft(suppliers[0], post=10)
    line = line_of(order, POST)

    with pytest.raises(Refusal) as refused:
        orders.change_draft(
            order=order, values={}, counts={line.pk: count}, unit_costs={}, actor=None, now=NOW
        )

    assert refused.value.field == f"count-{line.pk}"
    assert line_of(order, POST).count == 10
