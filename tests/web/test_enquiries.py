"""Pages of enquiries: taken by phone, booked, and made a site of."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from firm.models import Customer, Enquiry, JobSite, Role
from firm.services.enquiries import take_enquiry
from tests.cast import NOW
from tests.firm_cast import make_customer

pytestmark = pytest.mark.django_db


def typed(**changes: Any) -> dict[str, Any]:
    values = {
        "wanted": "Privacy fence at the back",
        "state": "new",
        "caller_name": "Ada Pike",
        "caller_phone": "555-0111",
        "place": "8 Quarry Road, Ostley",
    }
    return values | changes


def make_enquiry(customer: Customer | None = None, **changes: Any) -> Enquiry:
    return take_enquiry(
        actor=None,
        asker=customer or make_customer(),
        values={"wanted": "A gate", "place": "8 Quarry Road, Ostley"} | changes,
        at=NOW,
    )


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_enquiries_are_for_owner_and_office(
    as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    pk = make_enquiry().pk
    client = as_role(role)
    for address in (
        "/enquiries/",
        "/enquiries/new/",
        f"/enquiries/{pk}/",
        f"/enquiries/{pk}/change/",
    ):
        assert client.get(address).status_code == status, address


def test_crew_lead_writes_no_enquiry(as_role: Callable[[Role | None], Client]) -> None:
    enquiry = make_enquiry()
    client = as_role(Role.CREW_LEAD)
    assert client.post("/enquiries/new/", typed()).status_code == 403
    assert client.post(f"/enquiries/{enquiry.pk}/change/", typed()).status_code == 403
    assert Enquiry.objects.get().wanted == "A gate"


def test_name_and_phone_typed_at_once_make_customer_and_enquiry(as_office: Client) -> None:
    as_office.post("/enquiries/new/", typed(asker_owns="true", appointment_at="2026-06-03T09:30"))
    enquiry = Enquiry.objects.get()
    assert (enquiry.customer.name, enquiry.customer.phone) == ("Ada Pike", "555-0111")
    assert (enquiry.asker_owns, enquiry.state) == (True, Enquiry.State.VISIT_BOOKED)
    assert enquiry.taken_by is not None


def test_customer_of_old_is_chosen(as_office: Client) -> None:
    wren = make_customer()
    form = as_office.get(f"/enquiries/new/?customer={wren.pk}").content.decode()
    assert f'<option value="{wren.pk}" selected>' in form
    as_office.post("/enquiries/new/", typed(customer=wren.pk, caller_name="", caller_phone=""))
    assert Enquiry.objects.get().customer == wren
    assert Customer.objects.count() == 1


def test_phone_number_known_already_is_asked_about_before_anyone_is_added(
    as_office: Client,
) -> None:
    wren = make_customer(phone="555-0111")
    page = as_office.post("/enquiries/new/", typed()).content.decode()
    assert f"{wren} has this phone number or e-mail already" in page
    assert not Enquiry.objects.exists()
    as_office.post("/enquiries/new/", typed(is_someone_else="on"))
    assert Enquiry.objects.get().customer != wren


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"caller_name": ""}, "Type who asks, or choose the customer."),
        ({"wanted": ""}, "This field is required."),
        ({"rough_length_ft": "-3"}, "can&#x27;t be negative"),
        ({"rough_length_ft": "about 200"}, 'value="about 200"'),
        ({"rough_length_ft": "6 in"}, "This must be 1 ft or more, not 6 in."),
        ({"wanted_by": "soon"}, "Enter a valid date."),
        ({"appointment_at": "noon"}, "Enter a valid date/time."),
        ({"wanted": "<script>x</script>"}, "Write plain words here"),
        ({"customer": "9999"}, "Select a valid choice."),
        ({"state": "won"}, "Select a valid choice."),
    ],
)
def test_wrong_input_is_named_at_its_field_and_nothing_typed_is_lost(
    as_office: Client, changes: dict[str, str], words: str
) -> None:
    page = as_office.post("/enquiries/new/", typed(**changes)).content.decode()
    assert words in page
    assert 'aria-invalid="true"' in page
    assert "8 Quarry Road, Ostley" in page
    assert not Enquiry.objects.exists()
    assert not Customer.objects.exists()


def test_asker_who_does_not_own_is_warned_of(as_office: Client) -> None:
    enquiry = make_enquiry(asker_owns=False)
    assert "The owner must agree" in as_office.get(f"/enquiries/{enquiry.pk}/").content.decode()
    assert "Not the owner" in as_office.get("/enquiries/").content.decode()


def test_ownership_once_known_is_shown_in_the_form_and_kept(as_office: Client) -> None:
    enquiry = make_enquiry(asker_owns=False)
    address = f"/enquiries/{enquiry.pk}/change/"
    assert '<option value="false" selected>' in as_office.get(address).content.decode()
    as_office.post(address, typed(asker_owns="", state="closed"))
    enquiry.refresh_from_db()
    assert (enquiry.asker_owns, enquiry.state) == (None, Enquiry.State.CLOSED)


def test_list_shows_open_ones_or_one_state(as_office: Client) -> None:
    make_enquiry(make_customer(name="Open One"))
    make_enquiry(make_customer(name="Closed One"), state=Enquiry.State.CLOSED)
    page = as_office.get("/enquiries/").content.decode()
    assert "Open One" in page
    assert "Closed One" not in page
    page = as_office.get("/enquiries/?state=closed").content.decode()
    assert "Open One" not in page
    assert "Closed (1)" in page
    assert "Open One" in as_office.get("/enquiries/?state=nonsense").content.decode()


def test_site_is_made_of_an_enquiry(as_office: Client) -> None:
    enquiry = make_enquiry()
    page = as_office.get(f"/enquiries/{enquiry.pk}/").content.decode()
    address = f"/sites/new/?enquiry={enquiry.pk}"
    assert address in page
    form = as_office.get(address).content.decode()
    assert 'value="8 Quarry Road"' in form
    assert 'value="Ostley"' in form
    as_office.post(
        address,
        {
            "customer": enquiry.customer_id,
            "street": "8 Quarry Road",
            "city": "Ostley",
            "soil": "normal",
            "dig_method": "hand",
            "spoil": "spread",
            "exposure": "B",
        },
    )
    enquiry.refresh_from_db()
    assert enquiry.site == JobSite.objects.get()


def test_pages_ask_the_database_a_fixed_number_of_times(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    wren = make_customer()
    for _ in range(20):
        enquiry = make_enquiry(wren)
    # Session, person, count of pages, rows, counts by state.
    with django_assert_num_queries(5):
        as_office.get("/enquiries/")
    # Session, person, enquiry with customer, site and taker.
    with django_assert_num_queries(3):
        as_office.get(f"/enquiries/{enquiry.pk}/")
