"""Adding people, changing roles, switching log-ins off."""

from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from firm.models import AuditEntry, OutgoingMail, Role, User
from tests.cast import PASSWORD, make_person

pytestmark = pytest.mark.django_db


def typed(**changes: Any) -> dict[str, Any]:
    values = {
        "first_name": "Kit",
        "last_name": "Vale",
        "username": "kit",
        "role": "office",
        "email": "kit@example.com",
        "phone": "",
        "is_active": "on",
    }
    return {name: value for name, value in (values | changes).items() if value is not None}


def test_owner_adds_a_person_who_gets_a_link(as_owner: Client, owner: User) -> None:
    page = as_owner.post("/settings/people/new/", typed()).content.decode()
    person = User.objects.get(username="kit")
    assert (person.role, person.has_usable_password()) == (Role.OFFICE, False)
    assert "/password/new/" in page
    assert OutgoingMail.objects.get().to == "kit@example.com"
    assert AuditEntry.objects.get(action="added a person").actor == owner


@pytest.mark.parametrize("role", [Role.OFFICE, Role.CREW_LEAD])
def test_nobody_else_adds_or_changes_people(owner: User, role: Role) -> None:
    client = Client()
    client.force_login(make_person(role))
    assert client.get("/settings/people/").status_code == 403
    assert client.post("/settings/people/new/", typed(role="owner")).status_code == 403
    assert client.post(f"/settings/people/{owner.pk}/", typed()).status_code == 403
    assert client.post(f"/settings/people/{owner.pk}/password/").status_code == 403
    assert User.objects.count() == 2
    assert not OutgoingMail.objects.exists()


def test_taken_log_in_name_is_refused_and_the_rest_kept(as_owner: Client) -> None:
    page = as_owner.post("/settings/people/new/", typed(username="owner")).content.decode()
    assert 'id="id_username_error"' in page
    assert 'value="Vale"' in page


def test_markup_in_a_name_is_refused(as_owner: Client) -> None:
    page = as_owner.post("/settings/people/new/", typed(first_name="<svg/onload=x>"))
    assert 'id="id_first_name_error"' in page.content.decode()
    assert User.objects.count() == 1


def test_role_no_one_knows_is_refused(as_owner: Client) -> None:
    page = as_owner.post("/settings/people/new/", typed(role="king")).content.decode()
    assert 'id="id_role_error"' in page


def test_person_is_switched_off_and_can_not_log_in(as_owner: Client) -> None:
    person = make_person(Role.OFFICE)
    answer = as_owner.post(
        f"/settings/people/{person.pk}/", typed(username="office", is_active=None)
    )
    assert answer.status_code == 302
    assert not Client().login(username="office", password=PASSWORD)
    entry = AuditEntry.objects.get(action="changed a person")
    assert entry.after["is_active"] is False


@pytest.mark.parametrize(
    ("changes", "field"), [({"role": "office"}, "role"), ({"is_active": None}, "is_active")]
)
def test_last_owner_can_not_go(
    as_owner: Client, owner: User, changes: dict[str, Any], field: str
) -> None:
    values = typed(username="owner", role="owner") | changes
    answer = as_owner.post(
        f"/settings/people/{owner.pk}/",
        {name: value for name, value in values.items() if value is not None},
    )
    assert f'id="id_{field}_error"' in answer.content.decode()
    owner.refresh_from_db()
    assert (owner.role, owner.is_active) == (Role.OWNER, True)


def test_one_of_two_owners_may_go(as_owner: Client, owner: User) -> None:
    make_person(Role.OWNER, username="second")
    answer = as_owner.post(f"/settings/people/{owner.pk}/", typed(username="owner", role="office"))
    assert answer.status_code == 302
    owner.refresh_from_db()
    assert owner.role == Role.OFFICE


def test_link_is_sent_on_a_post_only(as_owner: Client) -> None:
    person = make_person(Role.CREW_LEAD)
    address = f"/settings/people/{person.pk}/password/"
    assert as_owner.get(address).status_code == 405
    assert "/password/new/" in as_owner.post(address).content.decode()


def test_no_link_for_someone_switched_off(as_owner: Client) -> None:
    person = make_person(Role.CREW_LEAD, is_active=False)
    as_owner.post(f"/settings/people/{person.pk}/password/")
    assert not OutgoingMail.objects.exists()


def test_people_list_takes_three_queries_for_any_number(
    as_owner: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(12):
        make_person(Role.CREW_LEAD, username=f"lead{number}")
    # Session, person, people.
    with django_assert_num_queries(3):
        page = as_owner.get("/settings/people/").content.decode()
    assert page.count("<tr>") == 14
