"""Passwords can't be guessed at leisure, and nobody is kept out for good."""

import datetime as dt

import pytest
from django.test import Client

from firm.errors import Refusal
from firm.models import FailedLogIn, User
from firm.services.log_ins import (
    forget_failed_log_ins,
    note_failed_log_in,
    refuse_hasty_log_in,
    wait_after,
)
from firm.services.users import password_link
from tests.cast import NOW, PASSWORD

pytestmark = pytest.mark.django_db
TOO_MANY = "Too many wrong passwords"


def fail(times: int, *, name: str = "owner", address: str = "203.0.113.9") -> None:
    for _ in range(times):
        note_failed_log_in(name=name, address=address, now=NOW)


def may_try(after: dt.timedelta, *, name: str = "owner", address: str = "203.0.113.9") -> bool:
    try:
        refuse_hasty_log_in(name=name, address=address, now=NOW + after)
    except Refusal:
        return False
    return True


def test_wait_begins_at_the_fifth_failure_doubles_and_stays_within_a_quarter_hour() -> None:
    # 30 s, 60, 120, 240, 480, and 960 cut to 900 s.
    waits = [wait_after(count).total_seconds() for count in (4, 5, 6, 7, 8, 9, 10, 2_000_000)]
    assert waits == [0, 30, 60, 120, 240, 480, 900, 900]


def test_wait_ends_by_itself_and_a_refused_try_lengthens_nothing() -> None:
    fail(5)
    assert not may_try(dt.timedelta(seconds=0))
    assert not may_try(dt.timedelta(seconds=29))
    assert may_try(dt.timedelta(seconds=30))


def test_other_names_and_addresses_do_not_wait() -> None:
    fail(9)
    assert may_try(dt.timedelta(0), address="198.51.100.7")
    assert may_try(dt.timedelta(0), name="office")
    # Capitals make no fresh start.
    assert not may_try(dt.timedelta(0), name="OWNER")


def test_failures_of_yesterday_are_forgotten() -> None:
    fail(40)
    late = dt.timedelta(days=1, seconds=1)
    assert may_try(late)
    note_failed_log_in(name="owner", address="203.0.113.9", now=NOW + late)
    assert FailedLogIn.objects.get().count == 1


def test_forgetting_takes_one_address_or_all() -> None:
    fail(5)
    fail(5, address="198.51.100.7")
    forget_failed_log_ins(name="Owner", address="203.0.113.9")
    assert FailedLogIn.objects.get().address == "198.51.100.7"
    forget_failed_log_ins(name="Owner")
    assert not FailedLogIn.objects.exists()


def log_in(client: Client, password: str) -> str:
    answer = client.post("/log-in/", {"username": "owner", "password": password}, follow=True)
    return answer.content.decode()


def test_right_password_waits_too_once_too_many_were_wrong(client: Client, owner: User) -> None:
    for _ in range(5):
        assert TOO_MANY not in log_in(client, "wrong")
    assert TOO_MANY in log_in(client, PASSWORD)
    assert "_auth_user_id" not in client.session
    assert FailedLogIn.objects.get().count == 5


def test_right_password_clears_the_count(client: Client, owner: User) -> None:
    log_in(client, "wrong")
    log_in(client, PASSWORD)
    assert "_auth_user_id" in client.session
    assert not FailedLogIn.objects.exists()


def test_names_that_nobody_has_wait_alike(client: Client, owner: User) -> None:
    for _ in range(5):
        client.post("/log-in/", {"username": "nobody", "password": "wrong"})
    answer = client.post("/log-in/", {"username": "nobody", "password": "wrong"})
    assert TOO_MANY in answer.content.decode()


def test_new_password_by_mail_ends_the_wait(client: Client, owner: User) -> None:
    for _ in range(5):
        log_in(client, "wrong")
    path = password_link(owner).partition("8000")[2]
    form_at = client.get(path).headers["Location"]
    new = "seven plain words of gravel"
    client.post(form_at, {"new_password1": new, "new_password2": new})
    assert TOO_MANY not in log_in(client, new)
    assert "_auth_user_id" in client.session


def test_log_in_gives_the_session_a_new_key(client: Client, owner: User) -> None:
    session = client.session
    session["planted"] = "by a stranger"
    session.save()
    planted = session.session_key
    log_in(client, PASSWORD)
    assert client.session.session_key != planted


def test_host_header_of_a_stranger_is_refused_and_never_reaches_a_link(
    client: Client, owner: User
) -> None:
    answer = client.post(
        "/password/forgotten/", {"email": owner.email}, headers={"host": "evil.example"}
    )
    assert answer.status_code == 400
    assert password_link(owner).startswith("http://127.0.0.1:8000/")


def test_log_out_empties_the_browsers_store(as_owner: Client) -> None:
    assert as_owner.post("/log-out/").headers["Clear-Site-Data"] == '"cache"'
