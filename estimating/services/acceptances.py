"""Recording a customer's yes, at the link or on paper, once and for ever."""

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone

from estimating.models import Acceptance, Proposal, ProposalOption
from estimating.selectors.proposals import why_not_acceptable
from estimating.services.proposal_mail import mail_acceptance
from estimating.services.proposal_texts import consent_text
from firm.errors import Refusal
from firm.measure.business_days import add_business_days
from firm.models import User
from firm.selectors.profile import firm_profile
from firm.services import audit, jobs

USER_AGENT_MAX_CHARS = 300
# Carried out by the app that plans the work, once for each proposal.
MAKE_JOB = "job.make"


@dataclass(frozen=True, kw_only=True, slots=True)
class Signature:
    """Who said yes to which PDF with which options, and from where."""

    name: str
    pdf_sha256: str
    options: Sequence[str] = ()
    ip_address: str | None = None
    user_agent: str = ""


@transaction.atomic
def accept_at_link(
    *, proposal: Proposal, signature: Signature, now: dt.datetime
) -> tuple[Acceptance, bool]:
    """Record the customer's acceptance; return it and whether this call was the one that did.

    Two clicks accept once: the row is claimed by a conditional UPDATE, and the loser of the race
    gets the first acceptance as it stands.

    Raises:
        Refusal: it has expired, was withdrawn or declined, or is not the PDF that was read.
    """
    return _accept(
        proposal=proposal,
        signature=signature,
        way=Acceptance.Way.LINK,
        consent=consent_text(),
        accepted_at=now,
        now=now,
    )


@transaction.atomic
def accept_on_paper(
    *,
    proposal: Proposal,
    signature: Signature,
    scan: "UploadedFile[bytes]",
    signed_on: dt.date,
    actor: User,
    now: dt.datetime,
) -> Acceptance:
    """Record a signature on paper, with its scan; the day signed must be within the validity.

    Raises:
        Refusal: it was accepted already, or is not out, or was signed too late or in the future.
    """
    if signed_on > timezone.localdate(now):
        raise Refusal("The day of the signature lies in the future.", field="signed_on")
    if proposal.sent_at is not None and signed_on < timezone.localdate(proposal.sent_at):
        raise Refusal("It was signed before this proposal was sent.", field="signed_on")
    at = min(now, _end_of(signed_on))
    acceptance, is_new = _accept(
        proposal=proposal,
        signature=signature,
        way=Acceptance.Way.PAPER,
        consent=consent_text(on_paper=True),
        accepted_at=at,
        now=now,
        actor=actor,
        scan=scan,
    )
    if not is_new:
        raise Refusal("This proposal was accepted already.")
    return acceptance


def _end_of(day: dt.date) -> dt.datetime:
    """Return the last second of a day, the firm's time."""
    return timezone.make_aware(dt.datetime.combine(day, dt.time(23, 59, 59)))


def cancellation_end(accepted_at: dt.datetime, business_days: int) -> dt.datetime:
    """Return the end of the last day on which the customer may cancel.

    The day of acceptance does not count (16 CFR 429.0); with none it ends as it begins.
    """
    if business_days == 0:
        return accepted_at
    return _end_of(add_business_days(timezone.localdate(accepted_at), business_days))


def _accept(
    *,
    proposal: Proposal,
    signature: Signature,
    way: Acceptance.Way,
    consent: str,
    accepted_at: dt.datetime,
    now: dt.datetime,
    actor: User | None = None,
    scan: "UploadedFile[bytes] | None" = None,
) -> tuple[Acceptance, bool]:
    accepted_on = timezone.localdate(accepted_at)
    claimed = Proposal.objects.filter(
        pk=proposal.pk,
        # A paper may come in after the last day though it was signed in time.
        state__in=[Proposal.State.SENT, Proposal.State.EXPIRED],
        valid_until__gte=accepted_on,
        pdf_sha256=signature.pdf_sha256,
    ).update(state=Proposal.State.ACCEPTED)
    proposal = Proposal.objects.select_related("estimate__customer").get(pk=proposal.pk)
    if not claimed:
        return _standing_acceptance(proposal, signature, accepted_on), False
    pdf = _unchanged_pdf(proposal)
    chosen = _chosen_options(proposal, signature.options)
    acceptance = Acceptance(
        proposal=proposal,
        way=way,
        signed_name=signature.name,
        consent_text=consent,
        accepted_at=accepted_at,
        ip_address=signature.ip_address,
        user_agent=signature.user_agent[:USER_AGENT_MAX_CHARS],
        pdf_sha256=proposal.pdf_sha256,
        options=[
            {"key": row.key, "description": row.description, "amount": str(row.amount)}
            for row in chosen
        ],
        total=proposal.price + sum((row.amount for row in chosen), Decimal(0)),
        cancellation_ends_at=cancellation_end(
            accepted_at, firm_profile().cancellation_business_days
        ),
        recorded_by=actor,
    )
    if scan is not None:
        acceptance.scan.save(f"proposal-{proposal.pk}-signed", scan, save=False)
    acceptance.save()
    audit.record(
        actor=actor,
        actor_name="" if actor else signature.name,
        action="proposal accepted",
        target=proposal,
        after=audit.snapshot(acceptance),
        at=now,
    )
    mail_acceptance(acceptance, pdf=pdf, now=now)
    jobs.enqueue(
        kind=MAKE_JOB,
        arguments={"proposal_id": proposal.pk},
        dedup_key=f"{MAKE_JOB}:{proposal.pk}",
        now=now,
    )
    return acceptance, True


def _standing_acceptance(
    proposal: Proposal, signature: Signature, accepted_on: dt.date
) -> Acceptance:
    """Return the acceptance that stands already, or refuse with why there is none."""
    if proposal.state == Proposal.State.ACCEPTED:
        return proposal.acceptance
    reason = why_not_acceptable(proposal, accepted_on)
    if not reason and proposal.pdf_sha256 != signature.pdf_sha256:
        reason = "This proposal has changed since you opened it. Please read it again."
    raise Refusal(reason or "This proposal can't be accepted any more.")


def _unchanged_pdf(proposal: Proposal) -> bytes:
    """Return the PDF that was sent, or refuse if the file kept is not that one."""
    try:
        with proposal.pdf.open("rb") as file:
            pdf: bytes = file.read()
    except OSError as error:
        raise Refusal("The document can't be found just now. Please call us.") from error
    if hashlib.sha256(pdf).hexdigest() != proposal.pdf_sha256:
        raise Refusal("The document kept here is not the one that was sent. Please call us.")
    return pdf


def _chosen_options(proposal: Proposal, keys: Sequence[str]) -> list[ProposalOption]:
    rows = {row.key: row for row in proposal.options.all()}
    if unknown := set(keys) - set(rows):
        raise Refusal(f"This proposal has no option {sorted(unknown)[0]!r}.", field="options")
    return [row for key, row in rows.items() if key in set(keys)]
