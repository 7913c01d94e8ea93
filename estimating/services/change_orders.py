"""Change orders: drafted, edited, signed, declined or dropped; once signed they never change."""

import datetime as dt
import hashlib
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from estimating.engine.catalog import Rules
from estimating.engine.reading import read_catalog
from estimating.models import Acceptance, ChangeOrder, Proposal
from firm.errors import Refusal
from firm.measure.money import format_money, to_cents
from firm.models import User
from firm.selectors.profile import firm_profile
from firm.services.saving import add_row, change_row, locked
from firm.services.signatures import checked_strokes

PERCENT = Decimal(100)
MOST_MONEY = Decimal(9_999_999)
ROCK_TITLE = "Rock in the holes"
ROCK_POSTS = re.compile(r"Rock at posts? ([\d, ]+)\.")


@dataclass(frozen=True, kw_only=True, slots=True)
class ChangeText:
    """What the office writes of a change order; cost and hours are its own figures."""

    title: str
    description: str
    price_before_tax: Decimal
    extra_days: int
    direct_cost: Decimal = Decimal(0)
    labor_hours: Decimal = Decimal(0)


@dataclass(frozen=True, kw_only=True, slots=True)
class ChangeSignature:
    """Who signed and how; `seen` is the fingerprint of what was read."""

    name: str
    way: str
    seen: str = ""
    strokes: Sequence[Any] = ()
    signed_on: dt.date | None = None


@transaction.atomic
def add_change_order(
    *, proposal_id: int, text: ChangeText, actor: User | None, now: dt.datetime
) -> ChangeOrder:
    """Draft a change order by hand.

    Raises:
        Refusal: the proposal is not accepted, or the text can't be.
    """
    proposal = _sold_proposal(proposal_id)
    order = ChangeOrder(
        proposal=proposal,
        number=next_number(proposal_id),
        created_by=actor,
        created_at=now,
        **_values(text, proposal, material_tax=Decimal(0)),
    )
    return add_row(order, actor=actor, action="drafted a change order", at=now)


@transaction.atomic
def edit_change_order(
    *, order: ChangeOrder, text: ChangeText, actor: User | None, now: dt.datetime
) -> ChangeOrder:
    """Change a draft.

    Raises:
        Refusal: it is no draft any more, or the text can't be.
    """
    row = _draft(order)
    # Where only material is taxed, its tax was worked out with the draft and stays.
    values = _values(text, row.proposal, material_tax=row.sales_tax)
    return change_row(row, changes=values, actor=actor, action="changed a change order", at=now)


@transaction.atomic
def draft_rock_order(
    *, proposal_id: int, posts: Collection[int], actor: User | None, now: dt.datetime
) -> ChangeOrder:
    """Draft a change order for the holes where rock was met, at the firm's price for each.

    Posts that an earlier order names and that was not dropped are left out.

    Raises:
        Refusal: the proposal is not accepted, no hole is left, or the firm has no price for one.
    """
    proposal = _sold_proposal(proposal_id)
    left = sorted(set(posts) - rock_posts_in_orders(proposal_id))
    if not left:
        raise Refusal("Every hole with rock stands in a change order already.")
    price = firm_profile().rock_hole_price
    if not price:
        raise Refusal("The firm's settings hold no price for a hole with rock.")
    is_one = len(left) == 1
    text = ChangeText(
        title=ROCK_TITLE,
        description=(
            f"Rock at post{'' if is_one else 's'} {', '.join(map(str, left))}. "
            f"{len(left)} hole{'' if is_one else 's'} that could not be dug as planned, "
            f"{format_money(price)} each as agreed."
        ),
        price_before_tax=price * len(left),
        extra_days=0,
    )
    return add_change_order(proposal_id=proposal.pk, text=text, actor=actor, now=now)


def rock_posts_in_orders(proposal_id: int) -> set[int]:
    """Return the posts whose rock stands in a change order that was not dropped."""
    words = (
        ChangeOrder.objects.filter(proposal=proposal_id)
        .exclude(state=ChangeOrder.State.DROPPED)
        .values_list("description", flat=True)
    )
    return {
        int(number)
        for text in words
        for found in ROCK_POSTS.findall(text)
        for number in re.findall(r"\d+", found)
    }


@transaction.atomic
def drop_change_order(*, order: ChangeOrder, actor: User | None, now: dt.datetime) -> ChangeOrder:
    """Drop a draft that nobody is to sign.

    Raises:
        Refusal: it is no draft any more.
    """
    changes = {
        "state": ChangeOrder.State.DROPPED,
        "decided_at": now,
        "decided_by": actor,
    }
    return change_row(
        _draft(order), changes=changes, actor=actor, action="dropped a change order", at=now
    )


@transaction.atomic
def decline_change_order(
    *, order: ChangeOrder, note: str, actor: User | None, now: dt.datetime
) -> ChangeOrder:
    """Record that the customer said no, and what was said.

    Raises:
        Refusal: it is no draft any more, or nothing is noted.
    """
    if not note.strip():
        raise Refusal("Write down what the customer said.", field="note")
    changes = {
        "state": ChangeOrder.State.DECLINED,
        "decided_at": now,
        "decided_by": actor,
        "decided_note": note.strip(),
    }
    return change_row(
        _draft(order), changes=changes, actor=actor, action="change order declined", at=now
    )


@transaction.atomic
def sign_change_order(
    *, order: ChangeOrder, signature: ChangeSignature, actor: User | None, now: dt.datetime
) -> ChangeOrder:
    """Record the customer's signature; from now on the order is part of the contract.

    Raises:
        Refusal: it is no draft any more, changed since it was read, has no name, or the day of a
            paper can't be.
    """
    row = _draft(order)
    if signature.seen and signature.seen != fingerprint(row):
        raise Refusal("This change order was changed meanwhile. Read it again before signing.")
    if not signature.name.strip():
        raise Refusal("Type the name: it stands for the signature.", field="signed_name")
    changes = {
        "state": ChangeOrder.State.SIGNED,
        "way": signature.way,
        "signed_name": signature.name.strip(),
        "strokes": checked_strokes(list(signature.strokes)),
        "decided_at": _signed_at(row, signature.signed_on, now),
        "decided_by": actor,
    }
    return change_row(row, changes=changes, actor=actor, action="change order signed", at=now)


def fingerprint(order: ChangeOrder) -> str:
    """Return a fingerprint of all that a customer reads in a change order."""
    read = (
        order.number,
        order.title,
        order.description,
        to_cents(order.price_before_tax),
        to_cents(order.sales_tax),
        order.extra_days,
    )
    return hashlib.sha256("\x1f".join(map(str, read)).encode()).hexdigest()


def next_number(proposal_id: int) -> int:
    """Return the number of the next change order; the caller holds the proposal's lock."""
    last = ChangeOrder.objects.filter(proposal=proposal_id).aggregate(last=Max("number"))["last"]
    return (last or 0) + 1


def tax_of(rules: Rules | None, *, price_before_tax: Decimal, material_tax: Decimal) -> Decimal:
    """Return the sales tax of a change by the rule of the sale.

    Where only material is taxed it is `material_tax`: that of the change's material.
    """
    if rules is None or rules.sales_tax_base == "none":
        return Decimal(0)
    if rules.sales_tax_base == "material":
        return to_cents(material_tax)
    return to_cents(price_before_tax * rules.sales_tax_pct / PERCENT)


def _sold_proposal(proposal_id: int) -> Proposal:
    """Return the accepted proposal, held against a second order with the same number."""
    proposal = Proposal.objects.select_for_update().get(pk=proposal_id)
    if not Acceptance.objects.filter(proposal=proposal_id).exists():
        raise Refusal("Only what was accepted can be changed by a change order.")
    return proposal


def _draft(order: ChangeOrder) -> ChangeOrder:
    row = locked(order)
    if row.state != ChangeOrder.State.DRAFT:
        raise Refusal(
            f"Change order {row.number} is {row.get_state_display().lower()}: it stays as it is."
        )
    return row


def _values(text: ChangeText, proposal: Proposal, *, material_tax: Decimal) -> dict[str, Any]:
    if not text.title.strip():
        raise Refusal("Give the change a title.", field="title")
    for name in ("price_before_tax", "direct_cost"):
        if abs(getattr(text, name)) > MOST_MONEY:
            raise Refusal(f"That is more than {format_money(MOST_MONEY)}.", field=name)
    price = to_cents(text.price_before_tax)
    frozen = proposal.estimate.catalog.get("rules")
    rules = read_catalog({"rules": frozen}).rules if frozen else None
    return {
        "title": text.title.strip(),
        "description": text.description.strip(),
        "price_before_tax": price,
        "sales_tax": tax_of(rules, price_before_tax=price, material_tax=material_tax),
        "direct_cost": to_cents(text.direct_cost),
        "labor_hours": text.labor_hours,
        "extra_days": text.extra_days,
    }


def _signed_at(order: ChangeOrder, signed_on: dt.date | None, now: dt.datetime) -> dt.datetime:
    """Return when it was signed: now, or within the day that stands on a paper."""
    if signed_on is None:
        return now
    if signed_on > timezone.localdate(now):
        raise Refusal("The day of the signature lies in the future.", field="signed_on")
    if signed_on < timezone.localdate(order.created_at):
        raise Refusal("It was signed before this change order was drafted.", field="signed_on")
    end = timezone.make_aware(dt.datetime.combine(signed_on, dt.time(23, 59, 59)))
    return min(now, end)
