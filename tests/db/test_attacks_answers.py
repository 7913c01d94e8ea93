"""A customer's yes and a change of the offer that cross each other."""

import pytest

from estimating.models import Proposal
from estimating.services.acceptances import Signature, accept_at_link
from estimating.services.estimates import revise
from firm.errors import Refusal
from tests.factories import NOW, make_sent_proposal

pytestmark = pytest.mark.django_db


def test_revision_takes_back_what_has_expired_too(monkeypatch: pytest.MonkeyPatch) -> None:
    # The price of the copy is not under test, and its catalog is only a sketch.
    monkeypatch.setattr("estimating.services.estimates.work_out_again", lambda *_, **__: None)
    # A paper signed in time must not bring back a price that was replaced.
    sent = make_sent_proposal()
    Proposal.objects.filter(pk=sent.pk).update(state=Proposal.State.EXPIRED)
    revise(estimate=sent.estimate, actor=None, now=NOW)
    sent.refresh_from_db()
    assert sent.state == Proposal.State.WITHDRAWN


def test_refused_revision_leaves_the_acceptance_as_it_was() -> None:
    sent = make_sent_proposal()
    signature = Signature(name="Wren Halloway", pdf_sha256=sent.pdf_sha256)
    accept_at_link(proposal=sent, signature=signature, now=NOW)
    with pytest.raises(Refusal, match="has accepted this estimate"):
        revise(estimate=sent.estimate, actor=None, now=NOW)
    sent.refresh_from_db()
    sent.estimate.refresh_from_db()
    assert (sent.state, sent.estimate.state) == ("accepted", "frozen")
