"""The end of a job: what is to be put right, and the customer's word that it is done."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable

from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone

from estimating.services.invoices import draft_balance_invoice
from firm.errors import Refusal
from firm.measure.said import Said, joined
from firm.models import User
from firm.selectors.profile import firm_profile
from firm.services import audit
from firm.services.saving import add_row, change_row, locked
from firm.services.signatures import Strokes, checked_strokes
from scheduling.models import Completion, CrewDay, FenceJob, JobPhase, PunchItem
from scheduling.selectors.completion import open_items, open_phases

STATEMENT = "scheduling/completion_statement.txt"
CALLED_OFF = Said("This job was called off.")
FINISHED = Said("This job is finished already, and signed for.")


def statement_for(job: FenceJob, items: Iterable[PunchItem]) -> str:
    """Return what the customer signs: it names what is still to be done."""
    context = {"job": job, "items": list(items), "firm": firm_profile()}
    return render_to_string(STATEMENT, context).strip()


def fingerprint(*parts: object) -> str:
    """Return the SHA-256 of parts in their order, whatever stands in them."""
    plain = json.dumps(parts, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(plain.encode()).hexdigest()


@transaction.atomic
def add_punch_item(
    *, job: FenceJob, text: str, post_number: int | None, actor: User | None, now: dt.datetime
) -> PunchItem:
    """Write down a thing to be put right.

    Raises:
        Refusal: it says nothing, or the job was called off.
    """
    if not text.strip():
        raise Refusal(Said("Write down what is to be put right."), field="text")
    if locked(job).state == FenceJob.State.CALLED_OFF:
        raise Refusal(CALLED_OFF)
    return add_row(
        PunchItem(
            job=job, text=text.strip(), post_number=post_number, added_by=actor, added_at=now
        ),
        actor=actor,
        action="wrote down what is to be put right",
        at=now,
    )


@transaction.atomic
def tick_punch_item(
    *, item: PunchItem, is_done: bool, actor: User | None, now: dt.datetime
) -> PunchItem:
    """Tick a thing done, or open it again; also after the job is finished."""
    kept = locked(item)
    if (kept.done_at is not None) == is_done:
        return kept
    return change_row(
        item,
        changes={"done_at": now if is_done else None, "done_by": actor if is_done else None},
        actor=actor,
        action="put something right" if is_done else "opened something to be put right again",
        at=now,
    )


@transaction.atomic
def finish_job(
    *,
    job: FenceJob,
    signed_name: str,
    strokes: Strokes,
    remarks: str,
    actor: User | None,
    now: dt.datetime,
    leaves_open: bool = False,
    ends_phases: bool = False,
    seen: str = "",
) -> Completion:
    """Keep the customer's word that the job is done, and draft the balance in the same breath.

    `leaves_open`: the customer agrees that what is still to be put right is done later.
    `ends_phases`: phases not marked finished yet are finished with this. `seen` is the fingerprint
    of the statement as it was shown; left out, nothing is compared.

    Raises:
        Refusal: the job is over, nobody signed, something is open or unfinished, or the statement
            has changed since it was shown.
    """
    kept = locked(job)
    _refuse_over(kept)
    if not signed_name.strip():
        raise Refusal(Said("The customer's name is missing."), field="signed_name")
    drawn = checked_strokes(strokes)
    items, phases = open_items(kept), open_phases(kept)
    _refuse_open(items, phases, leaves_open=leaves_open, ends_phases=ends_phases)
    statement = statement_for(kept, items)
    if seen and seen != fingerprint(statement):
        raise Refusal(
            Said("What is to be put right has changed meanwhile. Read the statement again.")
        )
    name, said = signed_name.strip(), remarks.strip()
    word = Completion(
        job=kept,
        statement=statement,
        remarks=said,
        signed_name=name,
        strokes=drawn,
        signed_at=now,
        sha256=fingerprint(statement, said, name, drawn),
        taken_by=actor,
    )
    add_row(word, actor=actor, action="took the customer's signature", at=now)
    _end(kept, phases, actor=actor, now=now)
    draft_balance_invoice(proposal_id=kept.proposal_id, actor=actor, now=now)
    return word


def _end(
    job: FenceJob, phases: Iterable[JobPhase], *, actor: User | None, now: dt.datetime
) -> None:
    """Finish a job with its phases, and free the crews of its days to come."""
    for phase in phases:
        changes = {"finished_on": timezone.localdate(now)}
        change_row(phase, changes=changes, actor=actor, action="finished a phase", at=now)
    change_row(
        job,
        changes={"state": FenceJob.State.FINISHED, "finished_at": now},
        actor=actor,
        action="finished a job",
        at=now,
    )
    _drop_days_ahead(job, actor=actor, now=now)


def _refuse_over(job: FenceJob) -> None:
    if job.state == FenceJob.State.CALLED_OFF:
        raise Refusal(CALLED_OFF)
    if job.state == FenceJob.State.FINISHED:
        raise Refusal(FINISHED)


def _refuse_open(
    items: list[PunchItem], phases: list[JobPhase], *, leaves_open: bool, ends_phases: bool
) -> None:
    if items and not leaves_open:
        names = "; ".join(item.text for item in items)
        raise Refusal(
            Said(
                "Still to be put right: {names}. Tick them done, or let the customer agree to "
                "later.",
                names=names,
            ),
            field="leaves_open",
        )
    if phases and not ends_phases:
        names = joined([Said(phase.get_kind_display()) for phase in phases], ", ")
        raise Refusal(Said("Not finished yet: {names}.", names=names), field="ends_phases")


def _drop_days_ahead(job: FenceJob, *, actor: User | None, now: dt.datetime) -> None:
    """Drop the blocks of days to come: their crews are free."""
    ahead = CrewDay.objects.filter(job=job, date__gt=timezone.localdate(now))
    days = [f"{each.date}, crew {each.crew_id}, {each.phase_id}" for each in ahead]
    if days:
        ahead.delete()
        audit.record(
            actor=actor,
            action="dropped crew days of a finished job",
            target=job,
            before={"crew_days": days},
            at=now,
        )
