"""The end of a job: punch list, signature kept for ever, balance drafted in the same breath."""

import datetime as dt
import hashlib
from typing import Any

import pytest
from django.db import IntegrityError, models, transaction

from estimating.models import Invoice
from firm.errors import Refusal
from firm.models import AuditEntry, Role, User
from scheduling.models import Completion, CrewDay, FenceJob, PunchItem
from scheduling.services.completion import (
    add_punch_item,
    fingerprint,
    finish_job,
    statement_for,
    tick_punch_item,
)
from scheduling.services.jobs import call_off_job
from tests.cast import make_person
from tests.crew_cast import give_to_crew_of
from tests.factories import NOW
from tests.money_cast import TODAY, make_contract, pay

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
STROKES = [[[10, 20], [300, 400]], [[500, 500]]]


@pytest.fixture
def lead() -> User:
    return make_person(Role.CREW_LEAD)


@pytest.fixture
def job(lead: User) -> FenceJob:
    """A job with nothing unfinished."""
    row = FenceJob.objects.get(proposal=make_contract())
    row.phases.update(finished_on=TODAY)
    return row


def finish(job: FenceJob, actor: User | None = None, **changes: Any) -> Completion:
    given: dict[str, Any] = {"signed_name": "Wren Halloway", "strokes": STROKES, "remarks": ""}
    with transaction.atomic():
        return finish_job(job=job, actor=actor, now=NOW, **(given | changes))


def refusal_of(job: FenceJob, **changes: Any) -> Refusal:
    with pytest.raises(Refusal) as refused:
        finish(job, **changes)
    return refused.value


def add_item(job: FenceJob, text: str = "Cap missing", post: int | None = 7) -> PunchItem:
    return add_punch_item(job=job, text=text, post_number=post, actor=None, now=NOW)


def test_signature_finishes_the_job_and_drafts_the_balance(job: FenceJob, lead: User) -> None:
    pay(job.proposal, "2040.00")
    completion = finish(job, lead, signed_name=" Wren Halloway ", remarks=" Well built ")
    job.refresh_from_db()
    assert (job.state, job.finished_at) == ("finished", NOW)
    assert (completion.signed_name, completion.remarks) == ("Wren Halloway", "Well built")
    assert (completion.strokes, completion.taken_by) == (STROKES, lead)
    assert "The work is done as agreed." in completion.statement
    assert "4 Larch Court, Dunmere" in completion.statement
    balance = Invoice.objects.get()
    # 5,100.00 sold less 2,040.00 received.
    assert (balance.kind, balance.state, str(balance.amount)) == ("balance", "draft", "3060.00")
    assert balance.drafted_by == lead


def test_hash_covers_statement_remarks_name_and_strokes(job: FenceJob) -> None:
    completion = finish(job, remarks="Well built", strokes=[[[1, 2]]])
    statement = completion.statement.replace("\n", "\\n")
    plain = f'["{statement}","Well built","Wren Halloway",[[[1,2]]]]'
    assert completion.sha256 == hashlib.sha256(plain.encode()).hexdigest()


def test_job_is_finished_once(job: FenceJob) -> None:
    finish(job)
    assert "finished already" in str(refusal_of(job))
    assert (Completion.objects.count(), Invoice.objects.count()) == (1, 1)


def test_job_that_was_called_off_is_not_finished(job: FenceJob) -> None:
    call_off_job(job=job, reason="Cancelled", actor=make_person(Role.OFFICE), now=NOW)
    assert str(refusal_of(job)) == "This job was called off."
    with pytest.raises(Refusal), transaction.atomic():
        add_item(job)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"signed_name": "  "}, "signed_name"),
        ({"strokes": [[[1, 5000]]]}, "strokes"),
        ({"strokes": "Wren"}, "strokes"),
    ],
)
def test_nothing_is_kept_without_a_signature(
    job: FenceJob, changes: dict[str, Any], field: str
) -> None:
    assert refusal_of(job, **changes).field == field
    job.refresh_from_db()
    assert job.state == "to_do"
    assert not Completion.objects.exists()
    assert not Invoice.objects.exists()


def test_typed_name_alone_is_a_signature(job: FenceJob) -> None:
    assert finish(job, strokes=[]).strokes == []


def test_what_is_open_is_done_or_agreed_to_be_done_later(job: FenceJob) -> None:
    item, other = add_item(job), add_item(job, "Latch drags", None)
    refused = refusal_of(job)
    assert refused.field == "leaves_open"
    assert "Cap missing; Latch drags" in str(refused)
    tick_punch_item(item=item, is_done=True, actor=None, now=NOW)
    completion = finish(job, leaves_open=True)
    assert "but for these points, which are done later:\n- Latch drags" in completion.statement
    assert "Cap missing" not in completion.statement
    # What was left for later stays on the job, and is ticked when it is done.
    tick_punch_item(item=other, is_done=True, actor=None, now=NOW + DAY)
    other.refresh_from_db()
    assert other.done_at == NOW + DAY


def test_item_is_opened_again(job: FenceJob, lead: User) -> None:
    item = add_item(job)
    tick_punch_item(item=item, is_done=True, actor=lead, now=NOW)
    tick_punch_item(item=item, is_done=True, actor=None, now=NOW + DAY)
    item.refresh_from_db()
    assert (item.done_at, item.done_by) == (NOW, lead)
    tick_punch_item(item=item, is_done=False, actor=lead, now=NOW + DAY)
    item.refresh_from_db()
    assert (item.done_at, item.done_by) == (None, None)
    actions = AuditEntry.objects.filter(target_type="scheduling.punchitem").order_by("pk")
    assert list(actions.values_list("action", flat=True)) == [
        "wrote down what is to be put right",
        "put something right",
        "opened something to be put right again",
    ]


def test_empty_item_is_refused(job: FenceJob) -> None:
    with pytest.raises(Refusal) as refused:
        add_item(job, "  ")
    assert refused.value.field == "text"


def test_unfinished_phases_are_named_and_may_end_with_the_job(job: FenceJob) -> None:
    job.phases.update(finished_on=None)
    refused = refusal_of(job)
    assert (refused.field, str(refused)) == ("ends_phases", "Not finished yet: Digging.")
    finish(job, ends_phases=True)
    assert job.phases.get().finished_on == TODAY


def test_statement_that_changed_since_it_was_shown_is_not_signed(job: FenceJob) -> None:
    seen = fingerprint(statement_for(job, []))
    add_item(job)
    assert "has changed" in str(refusal_of(job, leaves_open=True, seen=seen))
    seen = fingerprint(statement_for(job, PunchItem.objects.all()))
    finish(job, leaves_open=True, seen=seen)
    assert Completion.objects.count() == 1


def test_days_ahead_are_dropped_and_those_worked_stay(job: FenceJob, lead: User) -> None:
    for days in (-1, 0, 1, 9):
        give_to_crew_of(lead, job, on=TODAY + days * DAY)
    finish(job)
    kept = CrewDay.objects.order_by("date").values_list("date", flat=True)
    assert list(kept) == [TODAY - DAY, TODAY]
    entry = AuditEntry.objects.get(action="dropped crew days of a finished job")
    assert len(entry.before["crew_days"]) == 2


def test_paid_job_has_no_balance(job: FenceJob) -> None:
    pay(job.proposal, "5100.00")
    finish(job)
    assert not Invoice.objects.exists()


def test_what_was_signed_is_kept_for_ever(job: FenceJob, lead: User) -> None:
    finish(job, lead)
    changes: dict[str, Any]
    for changes in ({"signed_name": "Other"}, {"strokes": []}, {"remarks": "x"}, {"sha256": "0"}):
        with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
            models.QuerySet(Completion).update(**changes)
    lead.delete()
    assert Completion.objects.get().taken_by is None
