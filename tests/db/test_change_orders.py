"""Change orders: drafted by hand and from rock, edited, signed for ever, declined and dropped."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models import QuerySet

from estimating.models import ChangeOrder, Proposal
from estimating.models.changes import ChangeOrderIsFinalError
from estimating.selectors.changes import change_view, contract_of, signed_changes
from estimating.services import change_orders as service
from estimating.services.change_orders import ChangeSignature, ChangeText
from firm.errors import Refusal
from firm.models import AuditEntry, Role
from tests.cast import make_person
from tests.factories import NOW, TODAY, make_firm
from tests.ground_cast import make_sold_ground
from tests.job_cast import make_fence_job

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def proposal(db: None) -> Proposal:
    make_firm(rock_hole_price=Decimal("95.00"))
    # 5,000.00 before tax, 5,100.00 with it; the sold rules know no sales tax.
    return make_fence_job().proposal


def text(**changes: Any) -> ChangeText:
    values: dict[str, Any] = {
        "title": "A lock on the gate",
        "description": "Keyed alike with the house.",
        "price_before_tax": Decimal("120.00"),
        "extra_days": 0,
    }
    return ChangeText(**(values | changes))


def add(proposal: Proposal, **changes: Any) -> ChangeOrder:
    return service.add_change_order(
        proposal_id=proposal.pk, text=text(**changes), actor=None, now=NOW
    )


def sign(order: ChangeOrder, **changes: Any) -> ChangeOrder:
    values: dict[str, Any] = {"name": "Wren Halloway", "way": "phone"}
    return service.sign_change_order(
        order=order, signature=ChangeSignature(**(values | changes)), actor=None, now=NOW
    )


def test_orders_are_numbered_by_proposal(proposal: Proposal) -> None:
    other = make_fence_job(number=1002).proposal
    assert [add(proposal).number, add(proposal).number, add(other).number] == [1, 2, 1]
    assert AuditEntry.objects.filter(action="drafted a change order").count() == 3


def test_only_what_was_accepted_is_changed(proposal: Proposal) -> None:
    draft = Proposal.objects.create(
        estimate=proposal.estimate, valid_until=NOW.date(), price=Decimal(1)
    )
    with pytest.raises(Refusal, match="accepted"):
        add(draft)


@pytest.mark.parametrize(
    ("rules", "tax"),
    [
        ({}, "0"),
        # 8.25 % of 120.00 = 9.90.
        ({"sales_tax_base": "all", "sales_tax_pct": "8.25"}, "9.90"),
        # Typed work bears no tax where only material is taxed.
        ({"sales_tax_base": "material", "sales_tax_pct": "8.25"}, "0"),
    ],
)
def test_tax_is_worked_out_by_the_rule_of_the_sale(rules: dict[str, str], tax: str) -> None:
    make_firm()
    order = add(make_sold_ground(rules=rules))
    assert order.sales_tax == Decimal(tax)


def test_draft_is_edited_with_its_tax(proposal: Proposal) -> None:
    taxed = {"sales_tax_base": "all", "sales_tax_pct": "10"}
    proposal.estimate.catalog["rules"] = {**proposal.estimate.catalog["rules"], **taxed}
    proposal.estimate.save()
    order = add(proposal)
    edited = service.edit_change_order(
        order=order,
        text=text(title="Two locks", price_before_tax=Decimal("-55.55"), extra_days=-1),
        actor=None,
        now=NOW,
    )
    assert (edited.title, edited.extra_days) == ("Two locks", -1)
    # 10 % of -55.55 = -5.555, half-up away from nothing.
    assert (edited.price_before_tax, edited.sales_tax) == (Decimal("-55.55"), Decimal("-5.56"))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"title": "  "}, "title"),
        ({"price_before_tax": Decimal(10_000_000)}, "price_before_tax"),
        ({"direct_cost": Decimal(-10_000_000)}, "direct_cost"),
    ],
)
def test_text_that_can_not_be_is_refused(
    proposal: Proposal, changes: dict[str, Any], field: str
) -> None:
    with pytest.raises(Refusal) as refused:
        add(proposal, **changes)
    assert refused.value.field == field
    assert not ChangeOrder.objects.exists()


def test_rock_costs_the_firms_price_for_each_hole_once(proposal: Proposal) -> None:
    def rock(*posts: int) -> ChangeOrder:
        return service.draft_rock_order(proposal_id=proposal.pk, posts=posts, actor=None, now=NOW)

    first = rock(7, 3)
    # 2 x 95.00.
    assert first.price_before_tax == Decimal("190.00")
    assert first.description.startswith("Rock at posts 3, 7. 2 holes")
    second = rock(3, 7, 9)
    assert second.price_before_tax == Decimal("95.00")
    assert second.description.startswith("Rock at post 9. 1 hole ")
    with pytest.raises(Refusal, match="already"):
        rock(3, 9)
    service.drop_change_order(order=first, actor=None, now=NOW)
    assert rock(3, 7, 9).description.startswith("Rock at posts 3, 7.")


def test_rock_without_a_price_is_refused(proposal: Proposal) -> None:
    make_firm(rock_hole_price=Decimal(0))
    with pytest.raises(Refusal, match="no price"):
        service.draft_rock_order(proposal_id=proposal.pk, posts=[3], actor=None, now=NOW)


def test_signature_joins_the_contract(proposal: Proposal) -> None:
    lead = make_person(Role.CREW_LEAD)
    order = add(proposal)
    strokes = [[[0, 0], [1000, 400]]]
    signed = service.sign_change_order(
        order=order,
        signature=ChangeSignature(
            name=" Wren Halloway ",
            way="phone",
            strokes=strokes,
            seen=service.fingerprint(order),
        ),
        actor=lead,
        now=NOW,
    )
    assert (signed.state, signed.way, signed.signed_name) == ("signed", "phone", "Wren Halloway")
    assert (signed.strokes, signed.decided_at, signed.decided_by) == (strokes, NOW, lead)
    assert signed_changes(proposal.pk).price == Decimal("120.00")
    contract = contract_of(proposal.pk)
    assert contract is not None
    assert (contract.sold, contract.changes, contract.total) == (
        Decimal("5100.00"),
        Decimal("120.00"),
        Decimal("5220.00"),
    )
    entry = AuditEntry.objects.get(action="change order signed")
    assert (entry.actor, entry.after["signed_name"]) == (lead, "Wren Halloway")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"name": "  "}, "Type the name"),
        ({"seen": "0" * 64}, "changed meanwhile"),
        ({"strokes": [[[0, 1001]]]}, "no signature"),
        ({"signed_on": TODAY + DAY}, "future"),
        ({"signed_on": TODAY - DAY}, "before this change order"),
    ],
)
def test_signature_that_can_not_be_is_refused(
    proposal: Proposal, changes: dict[str, Any], words: str
) -> None:
    order = add(proposal)
    with pytest.raises(Refusal, match=words):
        sign(order, **changes)
    order.refresh_from_db()
    assert order.state == "draft"


def test_order_edited_while_the_customer_reads_is_not_signed(proposal: Proposal) -> None:
    order = add(proposal)
    seen = service.fingerprint(order)
    service.edit_change_order(
        order=order, text=text(price_before_tax=Decimal(900)), actor=None, now=NOW
    )
    with pytest.raises(Refusal, match="changed meanwhile"):
        sign(order, seen=seen)


def test_paper_counts_on_the_day_it_was_signed(proposal: Proposal) -> None:
    order = add(proposal)
    signed = service.sign_change_order(
        order=order,
        signature=ChangeSignature(name="Wren", way="paper", signed_on=TODAY),
        actor=None,
        now=NOW + 2 * DAY,
    )
    # The end of Monday, 4 May, in New York.
    assert signed.decided_at == dt.datetime(2026, 5, 5, 3, 59, 59, tzinfo=dt.UTC)


def _edit(order: ChangeOrder) -> Any:
    return service.edit_change_order(order=order, text=text(), actor=None, now=NOW)


def _drop(order: ChangeOrder) -> Any:
    return service.drop_change_order(order=order, actor=None, now=NOW)


def _decline(order: ChangeOrder) -> Any:
    return service.decline_change_order(order=order, note="No", actor=None, now=NOW)


@pytest.mark.parametrize("settle", [sign, _drop, _decline])
@pytest.mark.parametrize("act", [_edit, sign, _drop, _decline])
def test_what_is_settled_stays_as_it_is(
    proposal: Proposal, settle: Callable[[ChangeOrder], Any], act: Callable[[ChangeOrder], Any]
) -> None:
    stale = add(proposal)
    settled = settle(stale)
    # The second person still has the draft on the screen.
    with pytest.raises(Refusal, match="it stays as it is"):
        act(stale)
    settled.refresh_from_db()
    assert settled.price_before_tax == Decimal("120.00")


def test_declined_order_keeps_what_was_said(proposal: Proposal) -> None:
    order = add(proposal)
    with pytest.raises(Refusal, match="Write down"):
        service.decline_change_order(order=order, note=" ", actor=None, now=NOW)
    declined = service.decline_change_order(order=order, note="Too dear", actor=None, now=NOW)
    assert (declined.state, declined.decided_note) == ("declined", "Too dear")
    assert signed_changes(proposal.pk).count == 0


def test_model_lets_no_code_change_a_signed_order(proposal: Proposal) -> None:
    order = sign(add(proposal))
    order.price_before_tax = Decimal(1)
    with pytest.raises(ChangeOrderIsFinalError):
        order.save()
    with pytest.raises(ChangeOrderIsFinalError):
        order.delete()
    with pytest.raises(ChangeOrderIsFinalError):
        ChangeOrder.objects.filter(pk=order.pk).update(price_before_tax=1)
    with pytest.raises(ChangeOrderIsFinalError):
        ChangeOrder.objects.all().delete()
    order.refresh_from_db()
    assert order.price_before_tax == Decimal("120.00")


@pytest.mark.parametrize(
    "changes",
    [
        {"price_before_tax": 1},
        {"sales_tax": 1},
        {"signed_name": "Someone Else"},
        {"state": "draft"},
        {"strokes": [[[1, 1]]]},
        {"decided_at": None},
    ],
)
def test_database_refuses_to_change_a_signed_order(
    proposal: Proposal, changes: dict[str, Any]
) -> None:
    order = sign(add(proposal))
    with pytest.raises(IntegrityError), transaction.atomic():
        QuerySet(ChangeOrder).update(**changes)
    order.refresh_from_db()
    assert (order.state, order.price_before_tax) == ("signed", Decimal("120.00"))


def test_database_lets_drafts_change_and_people_go(proposal: Proposal) -> None:
    person = make_person(Role.OFFICE)
    draft = add(proposal)
    QuerySet(ChangeOrder).filter(pk=draft.pk).update(price_before_tax=1)
    signed = service.sign_change_order(
        order=add(proposal),
        signature=ChangeSignature(name="Wren", way="paper"),
        actor=person,
        now=NOW,
    )
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE estimating_changeorder SET decided_by_id = NULL WHERE id = %s", [signed.pk]
        )
    signed.refresh_from_db()
    assert signed.decided_by is None


def test_contract_runs_on_from_order_to_order(proposal: Proposal) -> None:
    first, second, third = (add(proposal, price_before_tax=Decimal(n)) for n in (10, 200, 3000))
    sign(second)
    service.sign_change_order(
        order=first,
        signature=ChangeSignature(name="Wren", way="phone"),
        actor=None,
        now=NOW + DAY,
    )
    views = [change_view(ChangeOrder.objects.get(pk=each.pk)) for each in (second, first, third)]
    # 5,100 sold; +200 signed first; +10 the day after; the draft would add 3,000 to both.
    assert [(int(each.before), int(each.after)) for each in views] == [
        (5100, 5300),
        (5300, 5310),
        (5310, 8310),
    ]


def test_proposal_never_accepted_has_no_contract(proposal: Proposal) -> None:
    draft = Proposal.objects.create(
        estimate=proposal.estimate, valid_until=NOW.date(), price=Decimal(1)
    )
    assert contract_of(draft.pk) is None
