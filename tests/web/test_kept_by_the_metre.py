"""A metric firm orders 10 m, and 10 m it stays: on the order, in the yard, on the job, in money."""

from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from estimating.models import PriceItem, Supplier
from firm.models import FirmProfile
from scheduling.models import Crew, FenceJob, JobCost, OrderLine, PurchaseOrder, YardStock
from scheduling.services.orders import DraftLine, draft_order
from scheduling.services.stock import StockItem
from tests.buying_cast import lies, make_job_needing
from tests.factories import make_firm
from tests.web.test_goods_by_the_metre import comes, text_of

pytestmark = pytest.mark.django_db
RAIL = StockItem(item="rail", name="Rail", unit="cm")


@pytest.fixture
def supplier(db: None) -> Supplier:
    """Return who sells a metre of rail for 190.26: a centimetre for 1.9026."""
    make_firm(units=FirmProfile.Units.METRIC)
    maker = Supplier.objects.create(name="Quarry Bend Supply", lead_days=5)
    PriceItem.objects.create(
        key="rail",
        name="Rail",
        unit="ft",
        purchase_unit="cm",
        pack=1 / 30.48,
        unit_cost=Decimal("1.9026"),
        supplier=maker,
    )
    return maker


@pytest.fixture
def line(supplier: Supplier) -> OrderLine:
    """Return a draft of one metre."""
    first = DraftLine(item="rail", name="Rail", unit="cm", count=100, unit_cost=Decimal("1.9026"))
    order = draft_order(
        supplier_id=supplier.pk,
        lines=[first],
        job=None,
        needed_by=None,
        actor=None,
        now=timezone.now(),
    )
    return order.lines.get()


def order_ten(client: Client, line: OrderLine) -> PurchaseOrder:
    """Type 10 m, and send it."""
    typed = {f"count-{line.pk}": "10", f"cost-{line.pk}": "190.26"}
    assert client.post(f"/orders/{line.order_id}/", typed).status_code == 302
    assert client.post(f"/orders/{line.order_id}/send/", {"to": ""}).status_code == 302
    line.refresh_from_db()
    return PurchaseOrder.objects.get(pk=line.order_id)


def test_ten_metres_are_ordered_as_ten_and_cost_ten_times_a_metre(
    as_office: Client, line: OrderLine
) -> None:
    order = order_ten(as_office, line)
    assert (line.count, line.unit_cost) == (1000, Decimal("1.9026"))
    printed = order.content["lines"][0]
    # By whole feet it was 33: 10.06 m for 1,913.71.
    assert (printed["count"], printed["unit"]) == ("10.00", "m")
    assert (printed["unit_cost"], printed["amount"]) == ("$190.26", "$1,902.60")
    assert order.content["total"] == "$1,902.60"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("9.99", 999), ("0.01", 1), ("3.5 m", 350), ("1000", 100_000), ("5000", 500_000)],
)
def test_a_length_is_shown_again_as_it_was_typed(
    as_office: Client, line: OrderLine, typed: str, kept: int
) -> None:
    sent = {f"count-{line.pk}": typed, f"cost-{line.pk}": "190.26"}
    assert as_office.post(f"/orders/{line.order_id}/", sent).status_code == 302
    line.refresh_from_db()
    assert line.count == kept
    page = as_office.get(f"/orders/{line.order_id}/").content.decode()
    assert f'name="count-{line.pk}" value="{Decimal(kept) / 100:.2f}"' in page


@pytest.mark.parametrize("typed", ["100000.01", "5 yd", "-1"])
def test_what_is_no_length_is_refused_and_kept(
    as_office: Client, line: OrderLine, typed: str
) -> None:
    sent = {f"count-{line.pk}": typed, f"cost-{line.pk}": "190.26"}
    answer = as_office.post(f"/orders/{line.order_id}/", sent)
    assert answer.status_code == 422
    assert f'value="{typed}"' in answer.content.decode()
    line.refresh_from_db()
    assert line.count == 100


@pytest.fixture
def job(red_crew: Crew, supplier: Supplier) -> FenceJob:
    """Return a job that needs 7 m of it today."""
    return make_job_needing(red_crew, 700, "cm", item="rail", name="Rail")


def test_what_comes_is_loaded_and_comes_back_adds_up_to_the_cent(
    as_office: Client, red_crew: Crew, job: FenceJob, line: OrderLine
) -> None:
    order = order_ten(as_office, line)
    assert comes(as_office, order, line, count="4").status_code == 302
    assert "6.00 m to come" in text_of(as_office.get(f"/orders/{order.pk}/"))
    assert comes(as_office, order, line, count="6").status_code == 302
    assert "all here" in text_of(as_office.get(f"/orders/{order.pk}/"))
    assert lies(RAIL) == 1000
    assert YardStock.objects.get().worth == Decimal("1902.60")

    today = timezone.localdate()
    address, field = f"/days/{red_crew.pk}/{today}/load/", f"{job.pk}-rail"
    assert f'name="count-{field}" value="7.00"' in as_office.get(address).content.decode()
    ticked = {f"tick-{field}": "on", f"seen-{field}": "0", f"count-{field}": "7"}
    assert as_office.post(address, ticked).status_code == 302
    # 7 x 190.26 = 1331.82
    cost = JobCost.objects.get(job=job)
    assert (cost.amount, cost.description) == (Decimal("1331.82"), "7.00 m Rail, from the yard")

    back = f"/jobs/{job.pk}/leftovers/"
    assert as_office.post(back, {"rail": "0.33"}).status_code == 302
    # 0.33 x 190.26 = 62.79 (62.7858)
    amounts = [row.amount for row in JobCost.objects.filter(job=job)]
    assert sorted(amounts) == [Decimal("-62.79"), Decimal("1331.82")]
    yard = YardStock.objects.get()
    assert (yard.count, yard.worth) == (333, Decimal("1902.60") - sum(amounts))
    words = text_of(as_office.get("/yard/"))
    assert "Rail m 3.33" in words
