"""Pages of jurisdictions: whose rules they are, and what is typed wrongly."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from firm.errors import Refusal
from firm.models import AuditEntry, Jurisdiction, Role
from firm.services.jurisdictions import add_jurisdiction, change_jurisdiction
from tests.cast import NOW
from tests.firm_cast import make_jurisdiction, make_site

pytestmark = pytest.mark.django_db


def typed(**changes: Any) -> dict[str, Any]:
    values = {
        "name": "Ostley",
        "frost_depth_in": "2 ft 8 in",
        "hole_depth_in": "0",
        "setback_in": "4 in",
        "height_limit_rear_in": "6 ft",
        "permit_required": "on",
        "permit_fee": "$60",
        "hand_dig_tolerance_in": "18 in",
        "sight_low_in": "36 in",
        "sight_high_in": "8 ft",
        "locate_notice": "2",
        "locate_day_kind": "working",
        "locate_earliest_call_days": "10",
        "locate_life_days": "28",
        "locate_life_kind": "calendar",
        "locate_count_from": "call",
        "locate_renew_days_before": "3",
    }
    return values | changes


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_jurisdictions_are_for_owner_and_office(
    as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    pk = make_jurisdiction().pk
    client = as_role(role)
    for address in ("/jurisdictions/", "/jurisdictions/new/", f"/jurisdictions/{pk}/"):
        assert client.get(address).status_code == status, address
    if status != 200:
        assert client.post("/jurisdictions/new/", typed()).status_code == status
        assert client.post(f"/jurisdictions/{pk}/", typed()).status_code == status
        assert Jurisdiction.objects.get().name == "Town of Dunmere"


def test_lengths_and_money_are_typed_as_people_write_them(as_office: Client) -> None:
    as_office.post("/jurisdictions/new/", typed())
    ostley = Jurisdiction.objects.get()
    # 2 ft 8 in = 32 in; 6 ft = 72 in.
    assert (ostley.frost_depth_in, ostley.height_limit_rear_in) == (32.0, 72.0)
    assert (ostley.height_limit_front_in, str(ostley.permit_fee)) == (None, "60.00")
    assert AuditEntry.objects.get().action == "added a jurisdiction"


def test_jurisdiction_is_changed_and_the_change_recorded(as_office: Client) -> None:
    town = make_jurisdiction()
    as_office.post(f"/jurisdictions/{town.pk}/", typed(name=town.name, frost_depth_in="36"))
    entry = AuditEntry.objects.get(action="changed a jurisdiction")
    assert (entry.before["frost_depth_in"], entry.after["frost_depth_in"]) == (32.0, 36.0)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"name": ""}, "This field is required."),
        ({"name": "Town of Dunmere"}, "already exists"),
        ({"frost_depth_in": "-2"}, "be negative"),
        ({"frost_depth_in": "deep"}, "deep"),
        ({"hole_depth_in": "30 ft"}, "or less"),
        ({"permit_fee": "sixty"}, "Type an amount such as"),
        ({"locate_life_days": "0"}, "greater than or equal to 1"),
        ({"locate_renew_days_before": "28"}, "less than its life of 28 days"),
        ({"locate_notice": "9999"}, "less than or equal to 336"),
        ({"locate_life_kind": "hours"}, "Select a valid choice."),
        ({"inspections": "<b>final</b>"}, "Write plain words here"),
    ],
)
def test_wrong_input_is_named_at_its_field_and_nothing_typed_is_lost(
    as_office: Client, changes: dict[str, str], words: str
) -> None:
    make_jurisdiction()
    page = as_office.post("/jurisdictions/new/", typed(**changes)).content.decode()
    assert words in page
    assert 'aria-invalid="true"' in page
    assert 'value="18 in"' in page
    assert Jurisdiction.objects.count() == 1


def test_name_taken_a_moment_ago_is_refused_in_words() -> None:
    make_jurisdiction()
    other = make_jurisdiction(name="Ostley")
    with pytest.raises(Refusal, match="of this name already"):
        add_jurisdiction(actor=None, values={"name": "Ostley"}, at=NOW)
    with pytest.raises(Refusal, match="of this name already"):
        change_jurisdiction(
            actor=None, jurisdiction=other, values={"name": "Town of Dunmere"}, at=NOW
        )


def test_list_says_what_to_do_while_it_is_empty(as_office: Client) -> None:
    assert "None yet." in as_office.get("/jurisdictions/").content.decode()


def test_list_asks_the_database_a_fixed_number_of_times(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(10):
        make_site(jurisdiction=make_jurisdiction(name=f"Town {number}"))
    # Session, person, rows with their count of sites, the firm's units.
    with django_assert_num_queries(4):
        as_office.get("/jurisdictions/")
