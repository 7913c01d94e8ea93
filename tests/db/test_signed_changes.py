"""What the signed change orders of a proposal add to its contract."""

from decimal import Decimal
from typing import Any

import pytest

from estimating.models import ChangeOrder, Proposal
from estimating.selectors.changes import SignedChanges, signed_changes
from tests.factories import NOW
from tests.job_cast import make_fence_job

pytestmark = pytest.mark.django_db


def make_change(proposal: Proposal, number: int, **changes: Any) -> ChangeOrder:
    values: dict[str, Any] = {
        "proposal": proposal,
        "number": number,
        "title": "Rock in two holes",
        "created_at": NOW,
    }
    if changes.get("state") == "signed":
        values |= {"signed_name": "Wren Halloway", "decided_at": NOW, "way": "paper"}
    return ChangeOrder.objects.create(**(values | changes))


def test_only_signed_orders_of_this_proposal_count() -> None:
    proposal = make_fence_job().proposal
    other = make_fence_job(number=1002).proposal
    make_change(
        proposal,
        1,
        state="signed",
        price_before_tax=Decimal("250.10"),
        sales_tax=Decimal("20.20"),
        direct_cost=Decimal("110.35"),
        labor_hours=Decimal("2.50"),
    )
    # Less fence: an amount below zero is given back.
    make_change(
        proposal,
        2,
        state="signed",
        price_before_tax=Decimal("-100.20"),
        sales_tax=Decimal("-8.02"),
        direct_cost=Decimal("-60.05"),
        labor_hours=Decimal("-1.25"),
    )
    for number, state in ((3, "draft"), (4, "declined"), (5, "dropped")):
        make_change(proposal, number, state=state, price_before_tax=Decimal(999))
    make_change(other, 1, state="signed", price_before_tax=Decimal(777))
    signed = signed_changes(proposal.pk)
    # 250.10 - 100.20; 20.20 - 8.02; 110.35 - 60.05; 2.50 - 1.25.
    assert signed == SignedChanges(
        price_before_tax=Decimal("149.90"),
        sales_tax=Decimal("12.18"),
        direct_cost=Decimal("50.30"),
        labor_hours=Decimal("1.25"),
        count=2,
    )
    assert signed.price == Decimal("162.08")


def test_without_changes_everything_is_nothing() -> None:
    assert signed_changes(make_fence_job().proposal.pk) == SignedChanges()
