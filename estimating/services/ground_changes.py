"""Records the ground as its crew found it, and drafts the change order that follows from it."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.db import transaction

from estimating import mapping
from estimating.engine.as_marked import Entries
from estimating.engine.result import EstimateResult, Post
from estimating.models import ChangeOrder, GroundChange, Proposal
from estimating.selectors.grounds import Found, Ground, build_up, ground_of, work_out_entries
from estimating.services.change_orders import next_number, tax_of
from estimating.services.ground_words import change_words, remark_words
from firm.errors import Refusal
from firm.measure.money import to_cents
from firm.measure.said import Said
from firm.models import User
from firm.services.audit import record
from firm.services.saving import add_row, change_row

TITLE = "The fence as marked on the ground"
HOUR_PLACES = Decimal("0.01")


@dataclass(frozen=True, kw_only=True, slots=True)
class Rest:
    """What a change order has to say of the ground: all of it, less what is signed already."""

    price_before_tax: Decimal
    sales_tax: Decimal
    direct_cost: Decimal
    labor_hours: Decimal
    extra_days: int
    remarks: tuple[str, ...]


def record_ground_change(
    *,
    proposal_id: int,
    entries: Entries,
    note: str = "",
    actor: User | None,
    now: dt.datetime,
    based_on: int | None = None,
    set_posts: Collection[int] = (),
) -> GroundChange:
    """Record the next version of a sold site, and draft its change order.

    `based_on` is the version the entries were made on; `set_posts` are the numbers of the posts
    that stand in the ground already. A draft of an earlier version is dropped, so that one draft
    says the whole difference less what the customer signed.

    Raises:
        Refusal: the work has no layout, someone else was faster, an entry can't be, nothing
            differs, or a set post would move, vanish or be numbered anew. The field is `line:A`,
            `post:7` or none.
    """
    with transaction.atomic():
        proposal = Proposal.objects.select_for_update().get(pk=proposal_id)
        ground = ground_of(proposal_id)
        if ground is None:
            raise Refusal(Said("This work has no layout that could be marked on the ground."))
        _refuse_overtaken(ground, based_on)
        found = work_out_entries(ground, entries)
        if found.document == ground.document and found.standing == ground.standing:
            raise Refusal(Said("Nothing differs from the sheet: nothing has been saved."))
        _refuse_set_posts(ground.result, found.result, set_posts, entries)
        return _record(
            proposal, ground, found, entries=entries, note=note.strip(), actor=actor, now=now
        )


def _record(
    proposal: Proposal,
    ground: Ground,
    found: Found,
    *,
    entries: Entries,
    note: str,
    actor: User | None,
    now: dt.datetime,
) -> GroundChange:
    """Write the next version, and one draft in place of those before it."""
    earlier = list(
        ChangeOrder.objects.select_for_update()
        .filter(proposal=proposal, ground_change__isnull=False)
        .order_by("number")
    )
    rest = _rest(ground, found, earlier)
    kept = {
        **mapping.to_plain(entries),
        "standing": _standing_rows(found),
        "remarks": list(rest.remarks),
    }
    change = GroundChange(
        proposal=proposal,
        version=ground.version + 1,
        document=dict(found.document),
        result=mapping.to_plain(found.result),
        entries=kept,
        note=note,
        made_by=actor,
        made_at=now,
    )
    change.save(force_insert=True)
    # Without the whole result: the row itself is kept for ever.
    told = {"version": change.version, "entries": kept, "note": change.note}
    record(actor=actor, action="marked the ground", target=change, after=told, at=now)
    _drop_drafts(earlier, change, actor, now)
    if rest.price_before_tax or rest.labor_hours:
        _draft_order(change, rest, change_words(ground, found), actor, now)
    return change


def _refuse_overtaken(ground: Ground, based_on: int | None) -> None:
    if based_on is not None and based_on != ground.version:
        raise Refusal(
            Said(
                "Someone else has saved version {number} of this sheet meanwhile. Open the page "
                "anew and compare; nothing of yours has been saved.",
                number=ground.version,
            )
        )


ONE_SET = Said(
    "Post {numbers} is set already, and with these entries it would stand elsewhere, vanish, or be "
    "another post. Enter only what is not set yet; for the rest call the office."
)
MORE_SET = Said(
    "Posts {numbers} are set already, and with these entries they would stand elsewhere, vanish, "
    "or be another post. Enter only what is not set yet; for the rest call the office."
)


def _refuse_set_posts(
    old: EstimateResult, new: EstimateResult, set_posts: Collection[int], entries: Entries
) -> None:
    were, stand = _posts(old), _posts(new)
    moving = [
        number
        for number in sorted(set_posts)
        if number in were
        and (number not in stand or _as_set(were[number]) != _as_set(stand[number]))
    ]
    if not moving:
        return
    entered = [move.number for move in entries.moved if move.number in moving]
    raise Refusal(
        Said(
            ONE_SET.phrase if len(moving) == 1 else MORE_SET.phrase,
            numbers=", ".join(map(str, moving)),
        ),
        field=f"post:{entered[0]}" if entered else "",
    )


def _posts(result: EstimateResult) -> dict[int, Post]:
    return {post.number: post for line in result.lines for post in line.posts}


def _as_set(post: Post) -> tuple[str, float, str, str]:
    return post.line_id, post.station_in, post.kind, post.routing


def _standing_rows(found: Found) -> list[dict[str, Any]]:
    return [
        {"line_id": line_id, "laid_out_in": laid_out_in, "station_in": station_in}
        for (line_id, laid_out_in), station_in in sorted(found.standing.items())
    ]


def _drop_drafts(
    earlier: list[ChangeOrder], change: GroundChange, actor: User | None, now: dt.datetime
) -> None:
    for order in earlier:
        if order.state != ChangeOrder.State.DRAFT:
            continue
        changes = {
            "state": ChangeOrder.State.DROPPED,
            "decided_at": now,
            "decided_by": actor,
            "decided_note": f"Replaced by version {change.version} of the ground.",
        }
        change_row(order, changes=changes, actor=actor, action="dropped a change order", at=now)


def _draft_order(
    change: GroundChange, rest: Rest, words: str, actor: User | None, now: dt.datetime
) -> None:
    order = ChangeOrder(
        proposal_id=change.proposal_id,
        number=next_number(change.proposal_id),
        ground_change=change,
        title=TITLE,
        description=words,
        price_before_tax=rest.price_before_tax,
        sales_tax=rest.sales_tax,
        direct_cost=rest.direct_cost,
        labor_hours=rest.labor_hours,
        extra_days=rest.extra_days,
        created_by=actor,
        created_at=now,
    )
    add_row(order, actor=actor, action="drafted a change order", at=now)


def _rest(ground: Ground, found: Found, earlier: list[ChangeOrder]) -> Rest:
    total = build_up(ground, found)
    signed = [order for order in earlier if order.state == ChangeOrder.State.SIGNED]
    price = total.price_before_tax - _sum(signed, "price_before_tax")
    tax = tax_of(
        ground.work.catalog.rules,
        price_before_tax=price,
        material_tax=total.sales_tax - _sum(signed, "sales_tax"),
    )
    days = total.crew_days - _sum(signed, "extra_days")
    return Rest(
        price_before_tax=to_cents(price),
        sales_tax=tax,
        direct_cost=to_cents(total.direct_cost - _sum(signed, "direct_cost")),
        labor_hours=(total.labor_hours - _sum(signed, "labor_hours")).quantize(
            HOUR_PLACES, rounding=ROUND_HALF_UP
        ),
        extra_days=int(days.to_integral_value(rounding=ROUND_HALF_UP)),
        remarks=remark_words(ground, total, earlier),
    )


def _sum(orders: list[ChangeOrder], name: str) -> Decimal:
    return sum((Decimal(getattr(order, name)) for order in orders), Decimal(0))
