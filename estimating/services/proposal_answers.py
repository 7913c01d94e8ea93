"""What the customer says short of yes: a no and its reason, and calls."""

import datetime as dt

from django.db import transaction

from estimating.models import Proposal
from estimating.services.proposal_mail import tell_firm_of_decline
from firm.errors import Refusal
from firm.models import User
from firm.services import audit


@transaction.atomic
def decline_proposal(
    *, proposal: Proposal, reason: str, now: dt.datetime, actor: User | None = None
) -> bool:
    """Record the customer's no and why; return whether this call was the one that did."""
    claimed = Proposal.objects.filter(
        pk=proposal.pk, state__in=[Proposal.State.SENT, Proposal.State.EXPIRED]
    ).update(state=Proposal.State.DECLINED, declined_at=now, declined_reason=reason)
    proposal.refresh_from_db()
    if not claimed:
        if proposal.state == Proposal.State.DECLINED:
            return False
        raise Refusal("Only a proposal that was sent and not answered can be declined.")
    audit.record(
        actor=actor,
        actor_name="" if actor else proposal.estimate.customer.name,
        action="proposal declined",
        target=proposal,
        after={"reason": reason},
        at=now,
    )
    if actor is None:
        tell_firm_of_decline(proposal, now=now)
    return True


@transaction.atomic
def record_call(
    *,
    proposal: Proposal,
    note: str,
    call_after: dt.date | None,
    actor: User | None,
    now: dt.datetime,
) -> None:
    """Keep what was said on the telephone and when to call next."""
    before = audit.snapshot(proposal, ("call_note", "call_after"))
    proposal.call_note, proposal.call_after = note, call_after
    proposal.save(update_fields=["call_note", "call_after"])
    audit.record(
        actor=actor,
        action="call recorded",
        target=proposal,
        before=before,
        after=audit.snapshot(proposal, ("call_note", "call_after")),
        at=now,
    )
