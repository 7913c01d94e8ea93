"""Log-in, log-out, and a new password at a link."""

import re

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from firm.models import OutgoingMail, Role, User
from tests.cast import PASSWORD, make_person

pytestmark = pytest.mark.django_db
TOKEN = re.compile(r'"X-CSRFToken": "\w+"')
LINK = re.compile(r"http://127\.0\.0\.1:8000(/password/new/\S+)")


def test_person_logs_in_and_lands_where_they_wanted_to_go(client: Client, owner: User) -> None:
    answer = client.post(
        "/log-in/", {"username": "owner", "password": PASSWORD, "next": "/settings/"}
    )
    assert (answer.status_code, answer.headers["Location"]) == (302, "/settings/")


def test_wrong_password_is_refused_and_the_name_kept(client: Client, owner: User) -> None:
    answer = client.post("/log-in/", {"username": "owner", "password": "wrong"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "That name and password don&#x27;t belong together" in page
    assert 'value="owner"' in page
    assert "wrong" not in page


def test_log_in_leads_to_no_other_site(client: Client, owner: User) -> None:
    answer = client.post(
        "/log-in/", {"username": "owner", "password": PASSWORD, "next": "https://evil.example/"}
    )
    assert answer.headers["Location"] == "/"


def test_person_who_is_switched_off_stays_out(client: Client, owner: User) -> None:
    person = make_person(Role.OFFICE)
    client.force_login(person)
    User.objects.filter(pk=person.pk).update(is_active=False)
    # The session of before is worth nothing any more.
    assert client.get("/mail/").status_code == 302
    answer = client.post("/log-in/", {"username": "office", "password": PASSWORD})
    assert answer.status_code == 422
    assert client.get("/mail/").status_code == 302


def test_log_out_is_a_post_and_ends_the_session(as_owner: Client) -> None:
    assert as_owner.get("/log-out/").status_code == 405
    assert as_owner.post("/log-out/").status_code == 302
    assert "_auth_user_id" not in as_owner.session


def test_log_in_page_asks_the_database_once(
    client: Client, owner: User, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    # Whether anyone owns this installation; messages and session are cookies until log-in.
    with django_assert_num_queries(1):
        assert client.get("/log-in/").status_code == 200


def test_forgotten_password_ends_in_a_new_one(client: Client, owner: User) -> None:
    assert client.post("/password/forgotten/", {"email": "OWNER@example.com"}).status_code == 302
    mail = OutgoingMail.objects.get()
    assert (mail.to, mail.owner_only) == ("owner@example.com", True)
    link = LINK.search(mail.body)
    assert link

    form_page = client.get(link[1])
    form_address = form_page.headers["Location"]
    # The secret leaves the address bar before the page is shown.
    assert "set-password" in form_address
    assert client.get(form_address).status_code == 200
    passwords = {"new_password1": "wide open meadow", "new_password2": "wide open meadow"}
    assert client.post(form_address, passwords).headers["Location"] == "/log-in/"
    assert client.login(username="owner", password="wide open meadow")

    used_link = Client().get(link[1])
    assert "This link no longer works" in used_link.content.decode()


def test_weak_new_password_is_refused_at_its_field(client: Client, owner: User) -> None:
    client.post("/password/forgotten/", {"email": "owner@example.com"})
    link = LINK.search(OutgoingMail.objects.get().body)
    assert link
    address = client.get(link[1]).headers["Location"]
    answer = client.post(address, {"new_password1": "short", "new_password2": "short"})
    assert 'id="id_new_password2_error"' in answer.content.decode()
    assert client.login(username="owner", password=PASSWORD)


def test_stranger_learns_nothing_from_the_forgotten_password_page(
    client: Client, owner: User
) -> None:
    known = client.post("/password/forgotten/", {"email": "owner@example.com"}, follow=True)
    unknown = client.post("/password/forgotten/", {"email": "no.one@example.com"}, follow=True)
    # The token against forged requests is new on every page.
    pages = [TOKEN.sub("", answer.content.decode()) for answer in (known, unknown)]
    assert pages[0] == pages[1]
    assert OutgoingMail.objects.count() == 1


def test_second_link_to_one_address_waits_two_minutes(client: Client, owner: User) -> None:
    for _ in range(3):
        client.post("/password/forgotten/", {"email": "owner@example.com"})
    assert OutgoingMail.objects.count() == 1


def test_link_points_to_the_public_address_whatever_the_request_says(owner: User) -> None:
    Client(headers={"host": "localhost"}).post(
        "/password/forgotten/", {"email": "owner@example.com"}
    )
    assert LINK.search(OutgoingMail.objects.get().body)
