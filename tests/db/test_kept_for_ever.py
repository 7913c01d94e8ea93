"""The database itself refuses to change what is kept for ever, whoever asks and how."""

from typing import Any

import pytest
from django.db import IntegrityError, connection, models, transaction

from estimating.models import Acceptance
from estimating.services.acceptances import Signature, accept_at_link
from firm.models import AuditEntry, Role
from firm.models.records import RecordIsFinalError
from firm.services.audit import record
from tests.cast import make_person
from tests.factories import NOW, make_sent_proposal

pytestmark = pytest.mark.django_db
on_postgresql = pytest.mark.skipif(
    "connection.vendor != 'postgresql'",
    reason="SQLite has no TRUNCATE: tests there are emptied by DELETE",
)


@pytest.fixture
def acceptance() -> Acceptance:
    proposal = make_sent_proposal()
    signature = Signature(name="Wren Halloway", pdf_sha256=proposal.pdf_sha256)
    return accept_at_link(proposal=proposal, signature=signature, now=NOW)[0]


def is_refused(rows: "models.QuerySet[Any]", **changes: Any) -> bool:
    # A plain queryset, without what the model's own manager refuses.
    try:
        with transaction.atomic():
            models.QuerySet(rows.model).update(**changes)
    except IntegrityError:
        return True
    return False


@pytest.mark.parametrize(
    "changes",
    [
        {"total": 1},
        {"signed_name": "Someone Else"},
        {"pdf_sha256": "0" * 64},
        {"options": []},
        {"ip_address": None},
    ],
)
def test_no_query_changes_an_acceptance(acceptance: Acceptance, changes: dict[str, Any]) -> None:
    assert is_refused(Acceptance.objects.all(), **changes)
    kept = Acceptance.objects.get()
    assert (kept.signed_name, kept.total) == (acceptance.signed_name, acceptance.total)


def test_no_raw_statement_changes_an_acceptance(acceptance: Acceptance) -> None:
    with (
        pytest.raises(IntegrityError, match="kept for ever"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute("UPDATE estimating_acceptance SET total = 1")
    assert Acceptance.objects.get().total == acceptance.total


def test_nobody_else_is_named_as_who_recorded_it(acceptance: Acceptance) -> None:
    assert is_refused(Acceptance.objects.all(), recorded_by=make_person(Role.OFFICE))


def test_record_is_not_changed_and_outlives_who_is_in_it() -> None:
    person = make_person(Role.OFFICE)
    entry = record(actor=person, action="made a fence", target=person, at=NOW)
    assert is_refused(AuditEntry.objects.all(), action="made nothing")
    assert is_refused(AuditEntry.objects.all(), actor=make_person(Role.OWNER))
    person.delete()
    entry.refresh_from_db()
    assert (entry.actor, entry.action, entry.actor_name) == (None, "made a fence", "Office")


def test_the_record_s_own_model_deletes_nothing() -> None:
    # SQLite itself would let it go, so the model is what stands in the way there.
    person = make_person(Role.OFFICE)
    entry = record(actor=person, action="made a fence", target=person, at=NOW)
    with pytest.raises(RecordIsFinalError):
        entry.delete()
    with pytest.raises(RecordIsFinalError):
        AuditEntry.objects.all().delete()
    assert AuditEntry.objects.get() == entry


@on_postgresql
def test_nothing_of_it_is_deleted(acceptance: Acceptance) -> None:
    for model in (Acceptance, AuditEntry):
        with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
            models.QuerySet(model).delete()
