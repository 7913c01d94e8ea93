"""Pages of sites and their clearances: who reads, who writes, what is typed wrongly."""

import datetime as dt
import io
from collections.abc import Callable
from typing import Any

import pypdf
import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from firm.models import Clearance, JobSite, Role, User, UtilityAnswer
from tests.cast import make_firm
from tests.crew_cast import send_crew
from tests.firm_cast import make_customer, make_jurisdiction, make_site
from tests.job_cast import make_fence_job

pytestmark = pytest.mark.django_db


def typed(**changes: Any) -> dict[str, Any]:
    values = {
        "street": "9 Birch Way",
        "city": "Dunmere",
        "soil": "stiff",
        "dig_method": "hand",
        "spoil": "haul",
        "exposure": "C",
        "access_width_in": "3 ft 6 in",
        "gate_code": "4417#",
    }
    return values | changes


def ticket_of(site: JobSite) -> Clearance:
    return site.clearances.get(kind=Clearance.Kind.LOCATE)


@pytest.mark.parametrize("role", [Role.CREW_LEAD, Role.OFFICE, Role.OWNER])
def test_everyone_of_the_firm_reads_sites(
    as_role: Callable[[Role | None], Client], role: Role
) -> None:
    site, client = make_site(), as_role(role)
    pk = site.pk
    if role == Role.CREW_LEAD:
        send_crew(User.objects.get(role=role), site)
    for address in ("/sites/", f"/sites/{pk}/", f"/sites/{pk}/measure-sheet.pdf"):
        assert client.get(address).status_code == 200, address


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_owner_and_office_write_sites(
    as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    site = make_site()
    ticket = ticket_of(site)
    answer = UtilityAnswer.objects.create(clearance=ticket, utility="Gas")
    client = as_role(role)
    for address in (
        "/sites/new/",
        f"/sites/{site.pk}/change/",
        f"/sites/{site.pk}/clearances/new/",
        f"/clearances/{ticket.pk}/",
        f"/clearances/{ticket.pk}/answers/new/",
        f"/answers/{answer.pk}/",
    ):
        assert client.get(address).status_code == status, address
        if status != 200:
            assert client.post(address, typed()).status_code == status, address
    if status != 200:
        assert JobSite.objects.get().soil == "normal"


def test_stranger_sees_no_site(as_role: Callable[[Role | None], Client]) -> None:
    pk = make_site().pk
    for address in ("/sites/", f"/sites/{pk}/", f"/sites/{pk}/measure-sheet.pdf"):
        answer = as_role(None).get(address)
        assert answer.status_code == 302, address
        assert answer.headers["Location"].startswith("/log-in/")


def test_sites_of_other_crews_do_not_exist_for_a_crew_lead(
    as_role: Callable[[Role | None], Client],
) -> None:
    other = make_site(street="77 Far Lane")
    make_fence_job(other, number=1002)
    client = as_role(Role.CREW_LEAD)
    own = make_site()
    send_crew(User.objects.get(role=Role.CREW_LEAD), own)
    page = client.get("/sites/").content.decode()
    assert "9 Birch Way" in page
    assert "77 Far Lane" not in page
    assert "No site matches" in client.get("/sites/?q=far").content.decode()
    for address in (f"/sites/{other.pk}/", f"/sites/{other.pk}/measure-sheet.pdf"):
        assert client.get(address).status_code == 404, address


def test_crew_lead_is_offered_nothing_he_may_not_open(
    as_role: Callable[[Role | None], Client],
) -> None:
    site = make_site(jurisdiction=make_jurisdiction())
    client = as_role(Role.CREW_LEAD)
    send_crew(User.objects.get(role=Role.CREW_LEAD), site)
    page = client.get(f"/sites/{site.pk}/").content.decode()
    assert "9 Birch Way" in page
    for forbidden in ("/customers/", "/change/", "/clearances/", "/jurisdictions/", "/papers/new"):
        assert forbidden not in page, forbidden


def test_office_adds_a_site_for_a_customer(as_office: Client) -> None:
    wren = make_customer()
    form = as_office.get(f"/sites/new/?customer={wren.pk}").content.decode()
    assert 'value="4 Larch Court"' in form
    page = as_office.post(
        "/sites/new/", typed(customer=wren.pk, jurisdiction=make_jurisdiction().pk), follow=True
    ).content.decode()
    site = JobSite.objects.get()
    # 3 ft 6 in.
    assert (site.access_width_in, site.soil, site.customer) == (42.0, "stiff", wren)
    assert site.clearances.count() == 6
    assert "Survey pins" in page
    assert "4417#" in page


def test_site_is_changed(as_office: Client) -> None:
    site = make_site()
    as_office.post(f"/sites/{site.pk}/change/", typed(customer=site.customer_id, dog="Biscuit"))
    site.refresh_from_db()
    assert (site.dog, site.spoil) == ("Biscuit", "haul")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"customer": ""}, "This field is required."),
        ({"street": ""}, "This field is required."),
        ({"access_width_in": "-3 ft"}, "be negative"),
        ({"access_width_in": "wide"}, "wide"),
        ({"wind_speed_mph": "-1"}, "This must be from 0 mph to 250 mph"),
        ({"wind_speed_mph": "a lot"}, "Type a number; alone it is in mph."),
        ({"wind_speed_mph": "900"}, "This must be from 0 mph to 250 mph"),
        ({"soil": "lava"}, "Select a valid choice."),
        ({"notes": "<svg onload=alert(1)>"}, "Write plain words here"),
        ({"place": "somewhere"}, "Type latitude and longitude"),
        ({"place": "95, 3"}, "95 is no latitude"),
    ],
)
def test_wrong_input_is_named_at_its_field_and_nothing_typed_is_lost(
    as_office: Client, changes: dict[str, str], words: str
) -> None:
    values = typed(customer=make_customer().pk) | changes
    page = as_office.post("/sites/new/", values).content.decode()
    assert words in page
    assert 'aria-invalid="true"' in page
    assert "4417#" in page
    assert not JobSite.objects.exists()


def test_place_on_the_map_is_kept_shown_and_taken_away(as_office: Client) -> None:
    site = make_site()
    address, mine = f"/sites/{site.pk}/change/", typed(customer=site.customer_id)
    as_office.post(address, mine | {"place": "41.59 N, 93.62 W"})
    site.refresh_from_db()
    assert site.place == (41.59, -93.62)
    assert 'value="41.59, -93.62"' in as_office.get(address).content.decode()
    assert "41.59000, -93.62000" in as_office.get(f"/sites/{site.pk}/").content.decode()
    as_office.post(address, mine | {"place": ""})
    emptied = JobSite.objects.get(pk=site.pk)
    assert emptied.place == (None, None)
    assert "no drive is counted" in as_office.get(f"/sites/{site.pk}/").content.decode()


def test_place_without_its_minus_sign_is_refused_at_the_field(as_office: Client) -> None:
    make_firm(yard_latitude=41.6, yard_longitude=-93.6)
    site = make_site()
    typed_in = typed(customer=site.customer_id) | {"place": "41.59, 93.62"}
    answer = as_office.post(f"/sites/{site.pk}/change/", typed_in)
    assert "is a minus sign missing?" in answer.content.decode()
    assert 'value="41.59, 93.62"' in answer.content.decode()
    emptied = JobSite.objects.get(pk=site.pk)
    assert emptied.place == (None, None)


@pytest.mark.parametrize("query", ["customer=x", "enquiry=²", "customer="])
def test_nonsense_in_the_address_is_an_empty_form(as_office: Client, query: str) -> None:
    assert as_office.get(f"/sites/new/?{query}").status_code == 200


def test_rows_alone_are_sent_to_the_search_box(as_office: Client) -> None:
    make_site()
    rows = as_office.get("/sites/?q=birch", headers={"HX-Request": "true"}).content.decode()
    assert "9 Birch Way" in rows
    assert "<nav" not in rows
    assert "No site matches" in as_office.get("/sites/?q=zzz").content.decode()


def test_empty_list_says_what_to_do(as_role: Callable[[Role | None], Client]) -> None:
    assert "/sites/new/" in as_role(Role.OFFICE).get("/sites/").content.decode()
    page = as_role(Role.CREW_LEAD).get("/sites/").content.decode()
    assert "/sites/new/" not in page
    assert "as soon as the office has one of your crews work there" in page


def test_pages_ask_the_database_a_fixed_number_of_times(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(10):
        site = make_site(street=f"{number} Elm")
    # Session, person, count, rows with customer and jurisdiction.
    with django_assert_num_queries(4):
        as_office.get("/sites/")
    # Session, person, site, clearances, their answers, papers.
    with django_assert_num_queries(6):
        as_office.get(f"/sites/{site.pk}/")
    ticket = ticket_of(site)
    # Session, person, clearance with site, its answers, the row the form writes into.
    with django_assert_num_queries(5):
        as_office.get(f"/clearances/{ticket.pk}/")


def test_crew_lead_s_list_asks_a_fixed_number_of_times(
    as_role: Callable[[Role | None], Client],
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    client = as_role(Role.CREW_LEAD)
    for number in range(10):
        send_crew(User.objects.get(role=Role.CREW_LEAD), make_site(street=f"{number} Elm"))
    # Session, person, the language of the crew, count, rows with customer and jurisdiction.
    with django_assert_num_queries(5):
        page = client.get("/sites/").content.decode()
    assert page.count(" Elm") == 10


def test_ticket_shows_its_dates_and_cautions(as_office: Client) -> None:
    site = make_site(jurisdiction=make_jurisdiction())
    address = f"/clearances/{ticket_of(site).pk}/"
    values = {"state": "asked", "number": "T-9", "asked_on": "2026-03-02"}
    page = as_office.post(address, values, follow=True).content.decode()
    # Called for on Mon 2 March: notice Tue and Wed, dig from Thu 5; 28 days end on Sun 29.
    assert "Thu Mar 5, 2026, and only with every answer in" in page
    assert "Sun Mar 29, 2026" in page
    for caution in ("Private lines are not marked", "stop, keep everyone away", "24 in"):
        assert caution in page, caution
    assert ticket_of(site).expires_on == dt.date(2026, 3, 29)


def test_answers_of_utilities_are_added_and_changed(as_office: Client) -> None:
    ticket = ticket_of(make_site())
    add = f"/clearances/{ticket.pk}/answers/new/"
    as_office.post(add, {"utility": "Gas", "answer": "waiting"})
    page = as_office.post(add, {"utility": "Gas", "answer": "marked"}).content.decode()
    assert "in the list already" in page
    answer = UtilityAnswer.objects.get()
    as_office.post(f"/answers/{answer.pk}/", {"utility": "Gas", "answer": "marked"})
    answer.refresh_from_db()
    assert answer.answer == "marked"


def test_ticket_called_clear_out_of_silence_is_refused_at_the_field(as_office: Client) -> None:
    ticket = ticket_of(make_site())
    UtilityAnswer.objects.create(clearance=ticket, utility="Gas")
    values = {"state": "clear", "number": "T-77"}
    page = as_office.post(f"/clearances/{ticket.pk}/", values).content.decode()
    assert "Silence is no clearance" in page
    assert 'value="T-77"' in page
    ticket.refresh_from_db()
    assert ticket.state == "not_asked"


def test_further_clearance_is_added_once(as_office: Client) -> None:
    site = make_site()
    address = f"/sites/{site.pk}/clearances/new/"
    values = {"kind": "permit", "state": "asked", "number": "P-2"}
    as_office.post(address, values)
    page = as_office.post(address, values).content.decode()
    assert "this kind and number already" in page
    assert site.clearances.filter(number="P-2").count() == 1


def test_permit_goes_back_to_the_site_when_saved(as_office: Client) -> None:
    site = make_site()
    permit = site.clearances.get(kind="permit")
    answer = as_office.post(
        f"/clearances/{permit.pk}/", {"state": "clear", "number": "P-1", "clear_on": "2026-03-02"}
    )
    assert answer.headers["Location"] == f"/sites/{site.pk}/"
    permit.refresh_from_db()
    assert (permit.state, permit.clear_on) == ("clear", dt.date(2026, 3, 2))


def test_measure_sheet_is_one_letter_page_with_what_is_known(as_office: Client) -> None:
    make_firm()
    site = make_site(
        jurisdiction=make_jurisdiction(setback_in=4, height_limit_front_in=42),
        access="Park on the street, take the left gate, mind the step and the new lawn. " * 3,
        dog="Biscuit, friendly, but keep the gate closed because he runs to the brook",
        gate_code="4417#",
    )
    made = as_office.get(f"/sites/{site.pk}/measure-sheet.pdf")
    assert made.headers["Content-Type"] == "application/pdf"
    (page,) = pypdf.PdfReader(io.BytesIO(made.content)).pages
    # Letter: 8.5 x 11 in at 72 points.
    assert (page.mediabox.width, page.mediabox.height) == (612, 792)
    text = " ".join(page.extract_text().split())
    for words in ("Orchard Hollow Fence", "Wren Halloway", "9 Birch Way", "4417#", "frost 32 in"):
        assert words in text, words
    for words in ("Lines, leg by leg", "Gates", "Ground shots", "Overhead lines"):
        assert words in text, words


def test_form_opened_from_a_customer_offers_that_customer_alone(as_office: Client) -> None:
    wren, ada = make_customer(), make_customer(name="Ada Pike", email="")
    for address in ("/sites/new/", "/enquiries/new/"):
        page = as_office.get(f"{address}?customer={wren.pk}").content.decode()
        assert f'<option value="{wren.pk}" selected>' in page, address
        assert f'<option value="{ada.pk}"' not in page, address
        assert f'<option value="{ada.pk}"' in as_office.get(address).content.decode(), address
