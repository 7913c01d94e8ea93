"""A metric firm orders, receives, loads and counts by the metre what is bought by the foot."""

import re
from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pypdf import PdfReader

from estimating.models import PriceItem, Supplier
from firm.measure import sold
from firm.models import FirmProfile
from scheduling.models import Crew, FenceJob, OrderLine, PurchaseOrder, Receipt
from scheduling.services.orders import DraftLine, draft_order
from scheduling.services.stock import StockItem
from tests.buying_cast import lies, make_job_needing, put_in
from tests.factories import make_firm

pytestmark = pytest.mark.django_db
LEAF = StockItem(item="leaf", name="Gate leaf", unit="ft")
METRIC = "metric"


@pytest.fixture
def supplier(db: None) -> Supplier:
    make_firm(units=FirmProfile.Units.METRIC)
    maker = Supplier.objects.create(name="Quarry Bend Supply", lead_days=5)
    PriceItem.objects.create(
        key="leaf",
        name="Gate leaf",
        unit="ft",
        purchase_unit="ft",
        unit_cost=Decimal("57.991248"),
        supplier=maker,
    )
    return maker


def text_of(answer: Any) -> str:
    html = answer if isinstance(answer, str) else answer.content.decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", html))


def drafted(supplier: Supplier, count: int = 4, cost: str = "57.991248") -> PurchaseOrder:
    line = DraftLine(item="leaf", name="Gate leaf", unit="ft", count=count, unit_cost=Decimal(cost))
    return draft_order(
        supplier_id=supplier.pk,
        lines=[line],
        job=None,
        needed_by=None,
        actor=None,
        now=timezone.now(),
    )


def sent(client: Client, supplier: Supplier, count: int = 4) -> tuple[PurchaseOrder, OrderLine]:
    order = drafted(supplier, count)
    assert client.post(f"/orders/{order.pk}/send/", {"to": ""}).status_code == 302
    order.refresh_from_db()
    return order, order.lines.get()


def comes(client: Client, order: PurchaseOrder, line: OrderLine, **typed: str) -> Any:
    told = {f"{name}-{line.pk}": value for name, value in typed.items()}
    day = timezone.localdate().isoformat()
    return client.post(f"/orders/{order.pk}/receive/", told | {"received_on": day})


def test_a_draft_is_shown_and_typed_by_the_metre(as_office: Client, supplier: Supplier) -> None:
    order = drafted(supplier)
    line = order.lines.get()
    page = as_office.get(f"/orders/{order.pk}/").content.decode()
    # 4 x 0.3048 = 1.2192; 57.991248 / 0.3048 = 190.26
    assert "Gate leaf (m)" in text_of(page)
    assert f'name="count-{line.pk}" value="1.22"' in page
    assert f'name="cost-{line.pk}" value="190.26"' in page

    sent_back = {f"count-{line.pk}": "1.22", f"cost-{line.pk}": "190.26"}
    assert as_office.post(f"/orders/{order.pk}/", sent_back).status_code == 302
    line.refresh_from_db()
    assert (line.count, line.unit_cost) == (4, Decimal("57.991248"))

    # 1.5 m is 4.92 ft: 5 are bought. 200 x 0.3048 = 60.96.
    typed = {f"count-{line.pk}": "1.5 m", f"cost-{line.pk}": "200"}
    assert as_office.post(f"/orders/{order.pk}/", typed).status_code == 302
    line.refresh_from_db()
    assert (line.count, line.unit_cost) == (5, Decimal("60.96"))

    assert (
        as_office.post(f"/orders/{order.pk}/", typed | {f"count-{line.pk}": "7 ft"}).status_code
        == 302
    )
    line.refresh_from_db()
    assert line.count == 7

    for wrong in ("5 yd", "some", "1,5", "-1", "1e99", "2.5 ft"):
        answer = as_office.post(f"/orders/{order.pk}/", typed | {f"count-{line.pk}": wrong})
        assert answer.status_code == 422
        assert f'value="{wrong}"' in answer.content.decode()
    assert "Type a figure such as 1.22 m." in text_of(
        as_office.post(f"/orders/{order.pk}/", typed | {f"count-{line.pk}": "5 yd"})
    )


def test_what_is_added_to_a_draft_is_counted_in_its_own_unit(
    as_office: Client, supplier: Supplier
) -> None:
    PriceItem.objects.create(key="cap", name="Cap", purchase_unit="each", unit_cost=Decimal(2))
    order = drafted(supplier)
    order.lines.all().delete()
    assert "Gate leaf (m)" in text_of(as_office.get(f"/orders/{order.pk}/"))
    add = f"/orders/{order.pk}/items/add/"
    assert as_office.post(add, {"item": "leaf", "count": "3.05"}).status_code == 302
    assert as_office.post(add, {"item": "cap", "count": "2.5"}).status_code == 422
    assert as_office.post(add, {"item": "cap", "count": "2"}).status_code == 302
    # 3.05 / 0.3048 = 10.01, which is 10 ft as shown.
    assert dict(order.lines.values_list("item", "count")) == {"leaf": 10, "cap": 2}


def test_what_a_sent_order_says_is_frozen_by_the_metre(
    as_office: Client, supplier: Supplier
) -> None:
    order, _ = sent(as_office, supplier)
    printed = order.content["lines"][0]
    # 4 x 57.991248 = 231.96
    assert (printed["count"], printed["unit"]) == ("1.22", "m")
    assert (printed["unit_cost"], printed["amount"]) == ("$190.26", "$231.96")
    FirmProfile.objects.update(units="us")
    order, _ = sent(as_office, supplier)
    printed = order.content["lines"][0]
    assert (printed["count"], printed["unit"], printed["unit_cost"]) == ("4", "ft", "$57.9912")


@pytest.mark.parametrize("count", [1, 4, 7, 33, 100, 1001])
def test_what_is_received_in_full_as_shown_closes_the_order(
    as_office: Client, supplier: Supplier, count: int
) -> None:
    order, line = sent(as_office, supplier, count)
    shown = sold.count_shown(Decimal(count), "ft", METRIC)
    assert comes(as_office, order, line, count=f"{shown}").status_code == 302
    assert Receipt.objects.get().count == count == lies(LEAF)
    assert "all here" in text_of(as_office.get(f"/orders/{order.pk}/"))


def test_a_part_is_received_refused_and_taken_back_by_the_metre(
    as_office: Client, supplier: Supplier
) -> None:
    order, line = sent(as_office, supplier, 33)
    # 4 / 0.3048 = 13.12: 13 ft, shown 3.96 m; 0.1 m is under half a foot and still one.
    assert comes(as_office, order, line, count="4", damaged="0.1").status_code == 302
    receipt = Receipt.objects.get()
    assert (receipt.count, receipt.damaged) == (13, 1)
    words = text_of(as_office.get(f"/orders/{order.pk}/"))
    # 33 x 0.3048 = 10.06; 20 x 0.3048 = 6.10
    assert "Gate leaf (m) 10.06" in words
    assert "6.10 m to come" in words
    assert not re.search(r"\bft\b", words)

    more = comes(as_office, order, line, count="10")
    assert more.status_code == 422
    # 10 / 0.3048 = 32.81: 33 ft, 10.06 m.
    assert "Ordered 10.06 m, 3.96 m came before. Did 10.06 m really come?" in text_of(more)

    back = f"/receipts/{receipt.pk}/take-back/"
    page = as_office.get(back).content.decode()
    assert 'value="3.96"' in page
    assert "3.96 m of Gate leaf" in text_of(page)
    told = {"count": "3.96", "damaged": "0.30", "reason": "Another firm's"}
    assert as_office.post(back, told).status_code == 302
    assert lies(LEAF) == 0


def test_the_yard_is_shown_and_counted_by_the_metre(as_office: Client, supplier: Supplier) -> None:
    put_in(LEAF, 12)
    words = text_of(as_office.get("/yard/"))
    # 12 x 0.3048 = 3.66
    assert "Gate leaf m 3.66" in words
    assert "+3.66 m" in words
    typed = {"item": "leaf", "counted": "3.05", "reason": "One is bent"}
    answer = as_office.post("/yard/", typed, follow=True)
    assert lies(LEAF) == 10
    assert "Gate leaf: 3.05 m is written down." in text_of(answer)
    wrong = as_office.post("/yard/", typed | {"counted": "many"})
    assert (wrong.status_code, lies(LEAF)) == (422, 10)
    assert 'value="many"' in wrong.content.decode()


@pytest.fixture
def job(red_crew: Crew, supplier: Supplier) -> FenceJob:
    return make_job_needing(red_crew, 12, "ft", item="leaf", name="Gate leaf")


@pytest.mark.parametrize(("language", "needed"), [("en", "Needed"), ("es", "Se necesita")])
def test_a_crew_loads_and_brings_back_by_the_metre(
    as_office: Client, red_crew: Crew, job: FenceJob, language: str, needed: str
) -> None:
    put_in(LEAF, 10)
    today = timezone.localdate()
    address = f"/days/{red_crew.pk}/{today}/load/?lang={language}"
    page = as_office.get(address).content.decode()
    # 10 x 0.3048 = 3.05; 12 x 0.3048 = 3.66; 2 x 0.3048 = 0.61
    assert needed in page
    assert f'name="count-{job.pk}-leaf" value="3.05"' in page
    words = text_of(page)
    assert "(m) 0.61" in words
    assert not re.search(r"\bft\b", words)

    field = f"{job.pk}-leaf"
    ticked = {f"tick-{field}": "on", f"seen-{field}": "0"}
    refused = as_office.post(address, ticked | {f"count-{field}": "3.66"})
    assert refused.status_code == 422
    assert "3.05 m" in text_of(refused)
    assert as_office.post(address, ticked | {f"count-{field}": "3.05"}).status_code == 302
    assert lies(LEAF) == 0
    assert "3.05 " in text_of(as_office.get(address))

    back = f"/jobs/{job.pk}/leftovers/?lang={language}"
    assert "m, 3.05" in text_of(as_office.get(back))
    assert as_office.post(back, {"leaf": "3.66"}).status_code == 422
    assert as_office.post(back, {"leaf": "1"}).status_code == 302
    # 1 / 0.3048 = 3.28
    assert lies(LEAF) == 3


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_printed_load_list_counts_metres(
    as_office: Client, red_crew: Crew, job: FenceJob, language: str
) -> None:
    put_in(LEAF, 10)
    address = f"/days/{red_crew.pk}/{timezone.localdate()}/load.pdf?lang={language}"
    found = PdfReader(BytesIO(as_office.get(address).content))
    words = " ".join(" ".join(page.extract_text() for page in found.pages).split())
    # To load, needed, loaded before, at the site, not here.
    assert "3.05 ____ Gate leaf, m 3.66 0.00 0.00 0.61" in words
