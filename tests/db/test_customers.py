"""Customers written, and taken in from files, with their audit rows."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import models
from django.utils import timezone

from firm.errors import Refusal
from firm.models import AuditEntry, Customer, Enquiry, Role, User
from firm.selectors.customers import customers_known_by, customers_matching
from firm.services import customer_import
from firm.services.customer_import import import_customers, preview_import
from firm.services.customers import change_customer
from firm.services.enquiries import NewCaller, change_enquiry, take_enquiry
from firm.services.import_files import import_file, keep_import_file
from firm.services.saving import change_row
from tests.cast import NOW, make_person
from tests.firm_cast import make_customer

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return make_person(Role.OWNER)


def messages_of(content: bytes) -> list[tuple[str, ...]]:
    return [row.messages for row in preview_import(content).rows]


def test_change_keeps_before_and_after_of_what_differs(owner: User) -> None:
    wren = make_customer()
    change_customer(
        actor=owner, customer=wren, values={"phone": "555-0199", "city": "Dunmere"}, at=NOW
    )
    entry = AuditEntry.objects.get(action="changed a customer")
    assert (entry.before, entry.after) == ({"phone": "555-0142"}, {"phone": "555-0199"})
    assert entry.actor == owner


def test_change_of_nothing_leaves_no_entry(owner: User) -> None:
    wren = make_customer()
    change_customer(actor=owner, customer=wren, values={"name": wren.name}, at=NOW)
    assert not AuditEntry.objects.filter(action="changed a customer").exists()


def test_row_that_a_form_wrote_into_is_compared_with_the_database(owner: User) -> None:
    wren = make_customer()
    wren.name = "Wren H."
    changed = change_row(wren, changes={"name": "Wren H."}, actor=owner, action="x", at=NOW)
    assert changed.name == "Wren H."
    assert AuditEntry.objects.get(action="x").before == {"name": "Wren Halloway"}


def test_every_word_must_be_found_somewhere() -> None:
    make_customer()
    make_customer(name="Wren Ostler", email="", street="7 Elm Row")
    assert [one.name for one in customers_matching("wren elm")] == ["Wren Ostler"]
    assert customers_matching("wren").count() == 2
    assert not customers_matching("wren nobody").exists()


def test_someone_new_becomes_a_customer_with_the_enquiry(owner: User) -> None:
    caller = NewCaller(name="Ada Pike", phone="555-0111", source="Sign")
    taken = take_enquiry(actor=owner, asker=caller, values={"wanted": "A gate"}, at=NOW)
    assert (taken.customer.name, taken.customer.source) == ("Ada Pike", "Sign")
    assert (taken.state, taken.taken_by) == (Enquiry.State.NEW, owner)


def test_new_enquiry_with_an_appointment_has_its_visit_booked(owner: User) -> None:
    wren = make_customer()
    taken = take_enquiry(
        actor=owner, asker=wren, values={"wanted": "A gate", "appointment_at": NOW}, at=NOW
    )
    assert taken.state == Enquiry.State.VISIT_BOOKED
    values = {"state": Enquiry.State.CLOSED, "appointment_at": NOW}
    closed = change_enquiry(actor=owner, enquiry=taken, values=values, at=NOW)
    assert closed.state == Enquiry.State.CLOSED


def test_enquiry_that_fails_leaves_no_customer_behind(
    owner: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(self: Enquiry, *args: Any, **kwargs: Any) -> None:
        raise OSError

    monkeypatch.setattr(Enquiry, "save", fails)
    with pytest.raises(OSError):  # noqa: PT011 - the disk's own error, raised above
        take_enquiry(actor=owner, asker=NewCaller(name="Ada"), values={"wanted": "x"}, at=NOW)
    assert not Customer.objects.exists()


def test_preview_says_of_each_row_why_it_is_left_out() -> None:
    make_customer()
    content = (
        b"Name,E-mail,Street\n"
        b"Ann,ann@example.com,1 A St\n"
        b",b@example.com,\n"
        b"Cy,not-an-address,\n"
        b"Dee,WREN@example.com,\n"
        b"wren  halloway,,4 LARCH court\n"
        b"Other,Ann@example.com,\n"
        b"<script>x</script>,,\n"
    )
    found = messages_of(content)
    assert found[0] == ()
    assert found[1] == ("The name is missing.",)
    assert found[2][0].startswith("Email: Enter a valid email")
    assert found[3] == ("The e-mail address is in the list of customers already.",)
    assert found[4] == ("This name with this street is in the list of customers already.",)
    assert found[5] == ("The e-mail address is in row 2 already.",)
    assert "plain words" in found[6][0]


def test_same_name_in_two_streets_is_two_people() -> None:
    assert messages_of(b"Name,Street\nAnn,1 A St\nAnn,2 A St\n") == [(), ()]


def test_text_longer_than_its_column_is_named() -> None:
    (messages,) = messages_of(b"Name,ZIP\nAnn," + b"9" * 21 + b"\n")
    assert messages[0].startswith("Postcode: Ensure this value has at most 20 characters")


def test_import_takes_the_good_rows_and_one_entry(owner: User) -> None:
    content = b"Name,E-mail,Notes\nAnn,,=1+1\nBad,nope,\nBen,,\n"
    added = import_customers(actor=owner, content=content, file_name="a.csv", at=NOW)
    assert [one.name for one in added] == ["Ann", "Ben"]
    assert Customer.objects.get(name="Ann").notes == "=1+1"
    entry = AuditEntry.objects.get(action="imported customers")
    assert (entry.after["customers"], entry.after["file"]) == (2, "a.csv")


def test_import_twice_adds_nobody_twice(owner: User) -> None:
    content = b"Name,Street\nAnn,1 A St\n"
    import_customers(actor=owner, content=content, file_name="a.csv", at=NOW)
    with pytest.raises(Refusal, match="No row"):
        import_customers(actor=owner, content=content, file_name="a.csv", at=NOW)
    assert Customer.objects.count() == 1


def test_import_is_all_or_nothing(owner: User, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(**kwargs: Any) -> Iterator[models.Model]:
        raise OSError

    monkeypatch.setattr(customer_import, "record", fails)
    with pytest.raises(OSError):  # noqa: PT011 - the disk's own error, raised above
        import_customers(actor=owner, content=b"Name\nAnn\n", file_name="a.csv", at=NOW)
    assert not Customer.objects.exists()


def test_file_is_kept_under_a_key_and_another_key_finds_nothing() -> None:
    key = keep_import_file(content=b"Name\nAnn\n", at=NOW)
    assert import_file(key) == b"Name\nAnn\n"
    assert import_file("") is None
    assert import_file("unknown") is None


def test_file_forgotten_a_day_ago_is_thrown_away() -> None:
    # The disk stamps files by its own clock, so the days are counted from that.
    now = timezone.now()
    old = keep_import_file(content=b"Name\nAnn\n", at=now)
    kept = keep_import_file(content=b"Name\nBen\n", at=now + dt.timedelta(hours=23))
    assert import_file(old) is not None
    keep_import_file(content=b"Name\nCy\n", at=now + dt.timedelta(hours=25))
    assert import_file(old) is None
    assert import_file(kept) is None


def test_customer_is_known_by_e_mail_or_by_either_phone() -> None:
    wren = make_customer(other_phone="555-0143")
    assert list(customers_known_by(email="WREN@example.com")) == [wren]
    assert list(customers_known_by(phone="555-0143")) == [wren]
    assert not customers_known_by().exists()
