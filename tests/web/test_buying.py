"""The pages of buying: the list, orders, the yard, what crews load and bring back."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from estimating.models import Supplier
from firm.models import Role, User
from scheduling.models import Crew, FenceJob, PurchaseOrder, Receipt, StockMove
from tests.buying_cast import BAG, POST, RAIL, lies, make_job_with, make_suppliers, needs, put_in
from tests.factories import make_firm

pytestmark = pytest.mark.django_db
ROLES = [(Role.OWNER, 200), (Role.OFFICE, 200), (Role.CREW_LEAD, 403), (None, 302)]


def make_job(number: int, crew: Crew) -> FenceJob:
    """Return a job set today and hung in three days that nobody bought for."""
    today = timezone.localdate()
    job = make_job_with(number, set_on=today, hang_on=today + dt.timedelta(days=3), crew=crew)
    job.phases.update(material_received_on=None)
    return needs(job, post=14, bag=52, rail=25)


@pytest.fixture
def suppliers(db: None) -> tuple[Supplier, Supplier]:
    return make_suppliers()


@pytest.fixture
def job(red_crew: Crew, suppliers: tuple[Supplier, Supplier]) -> FenceJob:
    return make_job(11, red_crew)


def page(client: Client, address: str, status: int = 200) -> str:
    answer = client.get(address)
    assert answer.status_code == status
    return answer.content.decode()


def range_of_today() -> dict[str, str]:
    today = timezone.localdate()
    return {"first": today.isoformat(), "last": (today + dt.timedelta(days=13)).isoformat()}


def draft_from_list(client: Client, supplier: Supplier) -> PurchaseOrder:
    answer = client.post("/buying/order/", range_of_today() | {"supplier": str(supplier.pk)})
    order = PurchaseOrder.objects.get(supplier=supplier, state="draft")
    assert answer.headers["Location"] == f"/orders/{order.pk}/"
    return order


def send(client: Client, supplier: Supplier) -> PurchaseOrder:
    order = draft_from_list(client, supplier)
    assert client.post(f"/orders/{order.pk}/send/", {"to": ""}).status_code == 302
    order.refresh_from_db()
    return order


# --- Who sees what ---


@pytest.mark.parametrize(("role", "expected"), ROLES)
@pytest.mark.parametrize("address", ["/buying/", "/orders/", "/yard/", "/price-book/suppliers/"])
def test_buying_is_for_owner_and_office(
    as_role: Callable[[Role | None], Client], address: str, role: Role | None, expected: int
) -> None:
    make_firm()
    assert as_role(role).get(address).status_code == expected


@pytest.mark.parametrize(("role", "expected"), ROLES)
def test_order_and_its_paper_are_for_owner_and_office(
    as_role: Callable[[Role | None], Client],
    suppliers: tuple[Supplier, Supplier],
    role: Role | None,
    expected: int,
) -> None:
    make_firm()
    order = PurchaseOrder.objects.create(supplier=suppliers[0], created_at=timezone.now())
    client = as_role(role)
    assert client.get(f"/orders/{order.pk}/").status_code == expected
    assert client.get(f"/orders/{order.pk}/order.pdf").status_code == expected


def test_crew_lead_loads_without_seeing_a_price(
    as_lead: Client, red_crew: Crew, job: FenceJob
) -> None:
    put_in(POST, 10)

    text = page(as_lead, f"/days/{red_crew.pk}/{timezone.localdate()}/load/")

    assert "Post 5 x 5" in text
    assert "$" not in text
    assert "38.00" not in text
    assert "Quarry Bend" not in text


def test_load_list_and_leftovers_of_another_crew_are_not_found(
    as_lead: Client, red_crew: Crew, suppliers: tuple[Supplier, Supplier]
) -> None:
    other = Crew.objects.create(name="Blue crew")
    theirs = make_job(21, other)
    day = timezone.localdate()

    for address in (
        f"/days/{other.pk}/{day}/load/",
        f"/days/{other.pk}/{day}/load.pdf",
        f"/jobs/{theirs.pk}/leftovers/",
    ):
        assert as_lead.get(address).status_code == 404


# --- The list ---


def test_list_opens_on_the_next_14_days(as_office: Client, lead: User, job: FenceJob) -> None:
    text = page(as_office, "/buying/")

    last = timezone.localdate() + dt.timedelta(days=13)
    assert f'value="{last.isoformat()}"' in text
    # 14 x 38.00 + 25 x 21.50 = 532.00 + 537.50.
    assert "$1,069.50" in text
    assert "Quarry Bend Supply" in text


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("2026-12-09", "2026-12-08", "This is before the first day."),
        ("2026-01-01", "2026-05-01", "121 days are too many"),
        ("2026-12-09", "", "This field is required."),
        ("2026-12-09", "soon", "Enter a valid date."),
    ],
)
def test_range_that_makes_no_sense_is_named_at_its_end(
    as_office: Client, lead: User, first: str, last: str, words: str
) -> None:
    text = page(as_office, f"/buying/?first={first}&last={last}", 422)

    assert words in text
    assert 'id="id_last_error"' in text
    assert f'value="{first}"' in text


def test_120_days_are_not_too_many(as_office: Client, lead: User) -> None:
    page(as_office, "/buying/?first=2026-01-01&last=2026-04-30")


# --- An order from the list to the yard ---


def test_order_from_the_list_to_the_yard(
    as_office: Client, job: FenceJob, suppliers: tuple[Supplier, Supplier]
) -> None:
    order = draft_from_list(as_office, suppliers[0])
    posts, rails = order.lines.get(item="post"), order.lines.get(item="rail")
    assert (posts.count, rails.count) == (14, 25)
    again = as_office.post(
        "/buying/order/", range_of_today() | {"supplier": str(suppliers[0].pk)}, follow=True
    )
    assert "A draft to this supplier stands already" in again.content.decode()

    typed = {
        f"count-{posts.pk}": "16",
        f"cost-{posts.pk}": "37.5",
        f"count-{rails.pk}": "0",
        f"cost-{rails.pk}": "21.50",
        "needed_by": "",
        "note": "Ring first",
    }
    assert as_office.post(f"/orders/{order.pk}/", typed).status_code == 302
    assert as_office.get(f"/orders/{order.pk}/order.pdf").content[:5] == b"%PDF-"
    assert as_office.post(f"/orders/{order.pk}/send/", {"to": ""}).status_code == 302
    order.refresh_from_db()
    # 16 x 37.50 = 600.00.
    assert (order.number, order.content["total"], order.content["note"]) == (
        1001,
        "$600.00",
        "Ring first",
    )

    received = {
        f"count-{posts.pk}": "10",
        f"damaged-{posts.pk}": "1",
        "received_on": timezone.localdate().isoformat(),
    }
    assert as_office.post(f"/orders/{order.pk}/receive/", received).status_code == 302
    assert lies(POST) == 10
    assert "part here" in page(as_office, "/orders/")


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("count", "-1", "greater than or equal to 0"),
        ("count", "many", "Type a whole number."),
        ("cost", "-2", "greater than or equal to 0"),
        ("note", "<script>", ""),
    ],
)
def test_bad_line_of_a_draft_is_named_and_the_rest_kept(
    as_office: Client,
    job: FenceJob,
    suppliers: tuple[Supplier, Supplier],
    field: str,
    value: str,
    words: str,
) -> None:
    order = draft_from_list(as_office, suppliers[1])
    line = order.lines.get()
    name = field if field == "note" else f"{field}-{line.pk}"
    typed = {f"count-{line.pk}": "52", f"cost-{line.pk}": "6.5", "note": "Ring first"}

    answer = as_office.post(f"/orders/{order.pk}/", typed | {name: value})

    text = answer.content.decode()
    assert answer.status_code == 422
    assert f'id="id_{name}_error"' in text
    assert words in text
    assert "Ring first" in text or field == "note"
    assert order.lines.get().count == 52


def test_receipt_is_refused_at_its_field_with_the_figure(
    as_office: Client, job: FenceJob, suppliers: tuple[Supplier, Supplier]
) -> None:
    order = send(as_office, suppliers[1])
    line = order.lines.get()
    today = timezone.localdate()

    answer = as_office.post(
        f"/orders/{order.pk}/receive/",
        {f"count-{line.pk}": "53", "received_on": today.isoformat(), "note": "By truck"},
    )
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "Ordered 52. Did 53 really come?" in text
    assert "By truck" in text

    early = today - dt.timedelta(days=1)
    answer = as_office.post(f"/orders/{order.pk}/promises/", {f"promise-{line.pk}": early})
    assert answer.status_code == 422
    assert "nothing is promised for a day before" in answer.content.decode()


def test_freight_of_a_delivery_is_typed_like_money_and_kept_with_what_came(
    as_office: Client, job: FenceJob, suppliers: tuple[Supplier, Supplier]
) -> None:
    order = send(as_office, suppliers[1])
    line = order.lines.get()
    typed = {
        f"count-{line.pk}": "52",
        "received_on": timezone.localdate().isoformat(),
        "extra": "a lot",
    }
    answer = as_office.post(f"/orders/{order.pk}/receive/", typed)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert 'id="id_extra_error"' in text
    assert 'value="a lot"' in text
    assert not line.receipts.exists()

    answer = as_office.post(f"/orders/{order.pk}/receive/", typed | {"extra": "$1,048.10"})
    assert answer.status_code == 302
    assert line.receipts.get().extra == Decimal("1048.10")


def test_delivery_is_counted_once_from_a_page_sent_twice(
    as_office: Client, job: FenceJob, suppliers: tuple[Supplier, Supplier]
) -> None:
    order = send(as_office, suppliers[1])
    line = order.lines.get()

    def receive(seen: str) -> tuple[int, str]:
        typed = {f"count-{line.pk}": "10", "note": "By truck", "seen": seen}
        typed["received_on"] = timezone.localdate().isoformat()
        answer = as_office.post(f"/orders/{order.pk}/receive/", typed)
        return answer.status_code, answer.content.decode()

    assert receive("0")[0] == 302
    status, text = receive("0")
    assert status == 422
    assert "was changed since you opened the page" in text
    assert "By truck" in text
    last = Receipt.objects.get().pk
    # The page drawn anew knows what came: ten more of the 52 are right.
    assert f'name="seen" value="{last}"' in text
    assert receive(str(last))[0] == 302
    assert [row.count for row in Receipt.objects.order_by("pk")] == [10, 10]


def test_sent_order_takes_no_change(
    as_office: Client, job: FenceJob, suppliers: tuple[Supplier, Supplier]
) -> None:
    order = send(as_office, suppliers[1])
    line = order.lines.get()
    typed = {f"count-{line.pk}": "1", f"cost-{line.pk}": "1", "note": ""}

    assert as_office.post(f"/orders/{order.pk}/", typed).status_code == 422
    assert as_office.post(f"/orders/{order.pk}/send/", {"to": ""}).status_code == 422
    item = {"item": "rail", "count": "3"}
    assert as_office.post(f"/orders/{order.pk}/items/add/", item).status_code == 422
    as_office.post(f"/orders/{order.pk}/drop/")
    assert order.lines.get().count == 52
    assert as_office.post(f"/orders/{order.pk}/cancel/", {"reason": ""}).status_code == 422
    assert as_office.post(f"/orders/{order.pk}/cancel/", {"reason": "Too late"}).status_code == 302


# --- The yard, the truck, and back ---


def test_crew_lead_loads_and_brings_back(as_lead: Client, red_crew: Crew, job: FenceJob) -> None:
    put_in(POST, 10)
    put_in(BAG, 60)
    address = f"/days/{red_crew.pk}/{timezone.localdate()}/load/"
    ticked = {f"tick-{job.pk}-post": "on", f"seen-{job.pk}-post": "0"}

    answer = as_lead.post(address, ticked | {f"count-{job.pk}-post": "11"})
    assert answer.status_code == 422
    assert "Only 10 of it lie in the yard." in answer.content.decode()
    assert f'id="id_count-{job.pk}-post_error"' in answer.content.decode()
    assert as_lead.post(address, {}).status_code == 422

    assert as_lead.post(address, ticked | {f"count-{job.pk}-post": "10"}).status_code == 302
    assert lies(POST) == 0
    assert "10 on the truck" in page(as_lead, address)
    assert as_lead.get(address.replace("load/", "load.pdf")).content[:5] == b"%PDF-"

    back = f"/jobs/{job.pk}/leftovers/"
    answer = as_lead.post(back, {"post": "11"})
    assert answer.status_code == 422
    assert "Only 10 of it went out" in answer.content.decode()
    assert as_lead.post(back, {"post": "-1"}).status_code == 422
    assert as_lead.post(back, {"post": "3"}).status_code == 302
    assert lies(POST) == 3


def test_yard_is_counted_anew_with_a_reason(
    as_office: Client, lead: User, suppliers: tuple[Supplier, Supplier]
) -> None:
    typed = {"item": "rail", "counted": "7", "reason": "Found behind the shed"}
    assert as_office.post("/yard/", typed | {"counted": "-1"}).status_code == 422
    answer = as_office.post("/yard/", typed | {"reason": ""})
    assert 'id="id_reason_error"' in answer.content.decode()
    assert not StockMove.objects.exists()

    assert as_office.post("/yard/", typed).status_code == 302

    assert lies(RAIL) == 7
    assert "Found behind the shed" in page(as_office, "/yard/")


# --- How many questions the pages ask ---


@pytest.mark.parametrize("address", ["/buying/", "/yard/", "/orders/", "load"])
def test_pages_ask_no_more_of_the_database_with_more_rows(
    as_office: Client,
    red_crew: Crew,
    job: FenceJob,
    suppliers: tuple[Supplier, Supplier],
    django_assert_max_num_queries: DjangoAssertNumQueries,
    address: str,
) -> None:
    if address == "load":
        address = f"/days/{red_crew.pk}/{timezone.localdate()}/load/"
    put_in(POST, 10)
    send(as_office, suppliers[1])
    as_office.get(address)
    with CaptureQueriesContext(connection) as few:
        as_office.get(address)
    asked = len(few)
    for number in range(12, 18):
        make_job(number, red_crew)
    for item in (BAG, RAIL):
        put_in(item, 300)
    send(as_office, suppliers[0])

    with django_assert_max_num_queries(asked):
        assert as_office.get(address).status_code == 200
