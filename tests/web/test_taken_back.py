"""The page that takes a receipt back, and the costs page of a job that orders bring goods to."""

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from estimating.models import Supplier
from scheduling.models import Crew, FenceJob, PurchaseOrder, Receipt
from scheduling.services import orders
from scheduling.services.receipts import Came, receive
from tests.buying_cast import POST, lies, make_job_with, make_suppliers
from tests.factories import TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def supplier(db: None) -> Supplier:
    return make_suppliers()[0]


@pytest.fixture
def job(red_crew: Crew) -> FenceJob:
    return make_job_with(11, set_on=TODAY, hang_on=TODAY, crew=red_crew)


def received(supplier: Supplier, job: FenceJob | None = None) -> Receipt:
    """Return the receipt of 14 posts at 38.00 that came today, one more of them damaged."""
    now = timezone.now()
    line = orders.DraftLine(
        item=POST.item, name=POST.name, unit="each", count=15, unit_cost=Decimal(38)
    )
    draft = orders.draft_order(
        supplier_id=supplier.pk, lines=[line], job=job, needed_by=None, actor=None, now=now
    )
    order = orders.send_order(order=draft, to="", actor=None, now=now)
    came = {order.lines.get().pk: Came(count=14, damaged=1)}
    day = timezone.localdate(now)
    return receive(order=order, came=came, received_on=day, actor=None, now=now)[0]


def test_page_takes_back_and_the_order_shows_it(
    as_office: Client,
    supplier: Supplier,
    red_crew: Crew,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    receipt = received(supplier)
    order = PurchaseOrder.objects.get()
    where = reverse("receipt_take_back", args=[receipt.pk])
    shown = reverse("purchase_order", args=[order.pk])
    assert f'href="{where}"' in as_office.get(shown).content.decode()
    # Session and person; the receipt with its order and what took it back; the firm's units.
    with django_assert_num_queries(4):
        html = as_office.get(where).content.decode()
    assert 'value="14"' in html
    refused = as_office.post(where, {"count": "15", "damaged": "0", "reason": "Typed twice"})
    assert refused.status_code == 422
    assert "From 0 to 14: no more was written down." in refused.content.decode()
    assert "Typed twice" in refused.content.decode()
    answer = as_office.post(where, {"count": "4", "damaged": "1", "reason": "Typed twice"})
    assert answer.headers["Location"] == shown
    html = as_office.get(shown).content.decode()
    assert "taken back: Typed twice" in html
    assert f'href="{where}"' not in html
    assert lies(POST) == 10
    assert "taken back already" in as_office.get(where).content.decode()
    own = reverse("receipt_take_back", args=[receipt.taken_back_by.pk])
    assert as_office.get(own).status_code == 404


def test_costs_page_asks_which_deliveries_an_invoice_is_about(
    as_office: Client, supplier: Supplier, job: FenceJob
) -> None:
    received(supplier, job)
    page = reverse("job_costs", args=[job.pk])
    html = as_office.get(page).content.decode()
    delivery = job.costs.get()
    assert delivery.amount == Decimal(532)  # 14 at 38.00
    assert "532.00" in html
    values = {
        "kind": "material",
        "description": "Posts",
        "supplier": "Quarry Bend",
        "spent_on": timezone.localdate().isoformat(),
        "amount": "570.31",
    }
    where = reverse("job_cost_add", args=[job.pk])
    asked = as_office.post(where, values)
    assert asked.status_code == 422
    assert "Tick the deliveries on this invoice" in asked.content.decode()
    both = as_office.post(where, values | {"covers": str(delivery.pk), "covers_none": "on"})
    assert both.status_code == 422
    # What is no material is asked nothing; material may be on none of the deliveries.
    assert as_office.post(where, values | {"kind": "fee"}).status_code == 302
    assert as_office.post(where, values | {"covers_none": "on"}).status_code == 302
    html = as_office.get(page).content.decode()
    assert "1,672.62" in html  # 532.00 and twice 570.31
    bill = job.costs.get(kind="material", order=None)
    edit = reverse("job_cost_edit", args=[bill.pk])
    assert as_office.post(edit, values | {"covers": str(delivery.pk)}).status_code == 302
    html = as_office.get(page).content.decode()
    assert "counted there" in html
    assert "1,140.62" in html  # twice 570.31
    assert as_office.get(reverse("job_cost_edit", args=[delivery.pk])).status_code == 404
