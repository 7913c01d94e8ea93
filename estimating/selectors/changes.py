"""Questions about changes after the customer signed: what they add to the contract."""

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import models

from estimating.models import Acceptance, ChangeOrder

NOTHING = Decimal(0)


@dataclass(frozen=True, kw_only=True, slots=True)
class SignedChanges:
    """What the signed change orders of a proposal add to it; below zero it is taken off."""

    price_before_tax: Decimal = NOTHING
    sales_tax: Decimal = NOTHING
    direct_cost: Decimal = NOTHING
    labor_hours: Decimal = NOTHING
    count: int = 0

    @property
    def price(self) -> Decimal:
        """What the customer pays more, tax included."""
        return self.price_before_tax + self.sales_tax


def signed_changes(proposal_id: int) -> SignedChanges:
    """Return the sums of a proposal's signed change orders; a draft is no part of a contract."""
    return sums_of(
        list(ChangeOrder.objects.filter(proposal=proposal_id, state=ChangeOrder.State.SIGNED))
    )


def sums_of(signed: Collection[ChangeOrder]) -> SignedChanges:
    """Return what signed change orders add up to; the database would add decimals as floats."""
    return SignedChanges(
        price_before_tax=sum((row.price_before_tax for row in signed), NOTHING),
        sales_tax=sum((row.sales_tax for row in signed), NOTHING),
        direct_cost=sum((row.direct_cost for row in signed), NOTHING),
        labor_hours=sum((row.labor_hours for row in signed), NOTHING),
        count=len(signed),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class ChangeRow:
    """A change order in a list; `price` is with its tax."""

    pk: int
    number: int
    title: str
    state: str
    state_words: str
    price: Decimal
    extra_days: int
    ground_version: int | None
    decided_at: dt.datetime | None
    signed_name: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Contract:
    """What was sold, what signed changes add to it, and what they come to; all with tax."""

    sold: Decimal
    changes: Decimal
    total: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class ChangeView:
    """A change order as a customer reads it, with what the contract comes to by it.

    `before` is the contract without it: as sold, and the orders signed before it.
    """

    order: ChangeOrder
    sold: Decimal
    before: Decimal
    after: Decimal
    remarks: tuple[str, ...]
    stops: tuple[str, ...]


def change_rows(proposal_id: int) -> list[ChangeRow]:
    """Return all change orders of a proposal by number."""
    rows = ChangeOrder.objects.filter(proposal=proposal_id).select_related("ground_change")
    rows = rows.defer("ground_change__document", "ground_change__result", "ground_change__entries")
    return [
        ChangeRow(
            pk=row.pk,
            number=row.number,
            title=row.title,
            state=row.state,
            state_words=row.get_state_display(),
            price=row.price,
            extra_days=row.extra_days,
            ground_version=row.ground_change.version if row.ground_change else None,
            decided_at=row.decided_at,
            signed_name=row.signed_name,
        )
        for row in rows.order_by("number")
    ]


def contract_of(proposal_id: int, rows: Sequence[ChangeRow] | None = None) -> Contract | None:
    """Return what the contract comes to, or None for what was never accepted."""
    sold = Acceptance.objects.filter(proposal=proposal_id).values_list("total", flat=True).first()
    if sold is None:
        return None
    rows = change_rows(proposal_id) if rows is None else rows
    signed = [row.price for row in rows if row.state == ChangeOrder.State.SIGNED]
    changes = sum(signed, NOTHING)
    return Contract(sold=sold, changes=changes, total=sold + changes)


def change_view(order: ChangeOrder) -> ChangeView:
    """Return a change order with the contract before and after it, and what the office notes."""
    signed = ChangeOrder.objects.filter(proposal=order.proposal_id, state="signed")
    if order.state == ChangeOrder.State.SIGNED:
        signed = signed.filter(
            models.Q(decided_at__lt=order.decided_at)
            | models.Q(decided_at=order.decided_at, number__lt=order.number)
        )
    sold = order.proposal.acceptance.total
    before = sold + sum((each.price for each in signed), NOTHING)
    ground = order.ground_change
    findings = ground.result.get("findings", ()) if ground else ()
    return ChangeView(
        order=order,
        sold=sold,
        before=before,
        after=before + order.price,
        remarks=tuple(ground.entries.get("remarks", ())) if ground else (),
        stops=tuple(
            f"{each['message']} {each['place'].capitalize()}: {each['figure']}, limit "
            f"{each['limit']}."
            for each in findings
            if each["severity"] == "stop"
        ),
    )


def changes_for_office() -> models.QuerySet[ChangeOrder]:
    """Return change orders with everything their page shows."""
    return ChangeOrder.objects.select_related(
        "proposal__estimate__customer",
        "proposal__estimate__site",
        "proposal__acceptance",
        "ground_change",
        "created_by",
        "decided_by",
    )


def change_to_sign(proposal_id: int, number: int) -> ChangeOrder | None:
    """Return one change order of a proposal by its number."""
    return changes_for_office().filter(proposal=proposal_id, number=number).first()


def unsigned_changes(proposal_id: int) -> list[ChangeOrder]:
    """Return the drafts that nobody has signed, declined or dropped: no part of any invoice."""
    drafts = ChangeOrder.objects.filter(proposal=proposal_id, state=ChangeOrder.State.DRAFT)
    return list(drafts.order_by("number"))
