"""Pages of customers: the ladder of roles, search, what is typed wrongly, the import."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from firm.models import Customer, Role
from tests.cast import make_person
from tests.firm_cast import make_customer, make_site

pytestmark = pytest.mark.django_db

IMPORT = "/customers/import/"


def typed(**changes: Any) -> dict[str, Any]:
    return {"name": "Ada Pike", "phone": "555-0111", "email": "ada@example.com"} | changes


def csv_file(content: bytes, name: str = "old list.csv") -> dict[str, Any]:
    return {"file": SimpleUploadedFile(name, content, "text/csv")}


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_customers_are_for_owner_and_office(
    as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    pk = make_customer().pk
    client = as_role(role)
    for address in (
        "/customers/",
        "/customers/new/",
        f"/customers/{pk}/",
        f"/customers/{pk}/change/",
        IMPORT,
        f"{IMPORT}sample.csv",
    ):
        assert client.get(address).status_code == status, address


def test_crew_lead_writes_no_customer(as_role: Callable[[Role | None], Client]) -> None:
    wren = make_customer()
    client = as_role(Role.CREW_LEAD)
    assert client.post("/customers/new/", typed()).status_code == 403
    assert client.post(f"/customers/{wren.pk}/change/", typed()).status_code == 403
    assert client.post(IMPORT, {"confirm": "yes"}).status_code == 403
    assert list(Customer.objects.values_list("name", flat=True)) == ["Wren Halloway"]


def test_office_adds_a_customer_and_is_led_to_the_site(as_office: Client) -> None:
    page = as_office.post("/customers/new/", typed(), follow=True).content.decode()
    ada = Customer.objects.get(name="Ada Pike")
    assert f"/sites/new/?customer={ada.pk}" in page


def test_customer_is_changed(as_office: Client) -> None:
    wren = make_customer()
    as_office.post(f"/customers/{wren.pk}/change/", typed(name="Wren H."))
    wren.refresh_from_db()
    assert (wren.name, wren.phone) == ("Wren H.", "555-0111")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"name": ""}, "This field is required."),
        ({"email": "ada at home"}, "Enter a valid email address."),
        ({"name": "<script>alert(1)</script>"}, "Write plain words here"),
        ({"notes": "<svg onload=x>"}, "Write plain words here"),
        ({"name": "x" * 121}, "at most 120 characters"),
    ],
)
def test_wrong_input_is_named_at_its_field_and_nothing_typed_is_lost(
    as_office: Client, changes: dict[str, str], words: str
) -> None:
    page = as_office.post("/customers/new/", typed(**changes)).content.decode()
    assert words in page
    assert 'aria-invalid="true"' in page
    assert "555-0111" in page
    assert not Customer.objects.exists()


def test_search_brings_the_whole_page_or_the_rows_alone(as_office: Client) -> None:
    make_customer()
    make_customer(name="Ada Pike", email="")
    page = as_office.get("/customers/?q=pike").content.decode()
    assert "Ada Pike" in page
    assert "Wren Halloway" not in page
    assert "<nav" in page
    rows = as_office.get("/customers/?q=pike", headers={"HX-Request": "true"}).content.decode()
    assert "Ada Pike" in rows
    assert "<nav" not in rows


def test_search_for_nothing_known_says_what_to_do(as_office: Client) -> None:
    page = as_office.get("/customers/?q=<b>\x00zzz").content.decode()
    assert "Nobody matches “&lt;b&gt;zzz”" in page
    assert "No customers yet" in as_office.get("/customers/").content.decode()


def test_long_list_comes_in_pages_and_a_wrong_page_number_harms_nothing(
    as_office: Client,
) -> None:
    for number in range(51):
        make_customer(name=f"Customer {number:02}", email="")
    assert "Page 1 of 2" in as_office.get("/customers/").content.decode()
    assert "Customer 50" in as_office.get("/customers/?page=two hundred&q=50").content.decode()
    assert "Customer 50" in as_office.get("/customers/?page=2").content.decode()


def test_pages_ask_the_database_a_fixed_number_of_times(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(20):
        make_customer(name=f"Customer {number}", email="")
    wren = make_customer()
    for number in range(5):
        make_site(customer=wren, street=f"{number} Elm")
    # Session, person, count, rows.
    with django_assert_num_queries(4):
        as_office.get("/customers/")
    # Session, person, customer, enquiries, sites with their jurisdictions.
    with django_assert_num_queries(5):
        as_office.get(f"/customers/{wren.pk}/")


def test_import_shows_every_row_and_writes_nothing_before_it_is_confirmed(
    as_office: Client,
) -> None:
    content = b"Name,E-mail,Shoe\nAda Pike,ada@example.com,9\n,x@example.com,8\n"
    page = as_office.post(IMPORT, csv_file(content)).content.decode()
    assert "1 of 2 rows of old list.csv will be taken in" in page
    assert "The name is missing." in page
    assert "Columns that are not taken in: Shoe." in page
    assert not Customer.objects.exists()

    page = as_office.post(IMPORT, {"confirm": "yes"}, follow=True).content.decode()
    assert "1 customer taken in." in page
    assert Customer.objects.get().email == "ada@example.com"


def test_confirming_twice_takes_nobody_in_twice(as_office: Client) -> None:
    as_office.post(IMPORT, csv_file(b"Name\nAda\n"))
    as_office.post(IMPORT, {"confirm": "yes"})
    page = as_office.post(IMPORT, {"confirm": "yes"}, follow=True).content.decode()
    assert "choose it once more" in page
    assert Customer.objects.count() == 1


def test_nobody_confirms_a_file_somebody_else_chose(as_office: Client) -> None:
    as_office.post(IMPORT, csv_file(b"Name\nAda\n"))
    other = Client()
    other.force_login(make_person(Role.OFFICE, username="second"))
    other.post(IMPORT, {"confirm": "yes"})
    assert not Customer.objects.exists()


def test_rows_that_became_known_meanwhile_are_not_taken_in(as_office: Client) -> None:
    as_office.post(IMPORT, csv_file(b"Name,Street\nAda,1 A St\n"))
    make_customer(name="Ada", street="1 A St")
    page = as_office.post(IMPORT, {"confirm": "yes"}).content.decode()
    assert "No row of this file can be taken in." in page
    assert Customer.objects.count() == 1


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"Town\nX\n", "one of them must be Name or Customer"),
        (b"\x00\x01\x02", "no text file"),
        (b"Name\n" + b"a" * (2 * 1024 * 1024), "The file has 2.0 MB; 2 MB is the most"),
        (b"", "The submitted file is empty."),
    ],
    ids=["no names", "no text", "too large", "empty"],
)
def test_file_that_can_not_be_read_is_refused_in_words(
    as_office: Client, content: bytes, words: str
) -> None:
    page = as_office.post(IMPORT, csv_file(content)).content.decode()
    assert words in page
    assert 'aria-invalid="true"' in page


def test_script_in_a_cell_is_shown_as_text(as_office: Client) -> None:
    page = as_office.post(IMPORT, csv_file(b"Name\n<script>alert(1)</script>\n")).content.decode()
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_sample_file_can_be_taken_in_as_it_is(as_office: Client) -> None:
    sample = as_office.get(f"{IMPORT}sample.csv")
    assert sample.headers["Content-Disposition"] == 'attachment; filename="customers.csv"'
    page = as_office.post(IMPORT, csv_file(sample.content)).content.decode()
    assert "2 of 2 rows" in page
