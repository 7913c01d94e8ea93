"""Migrations that fill new columns, run over rows written before them."""

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from estimating.services.invoice_pdf import mail_invoice
from firm.models import OutgoingMail
from scheduling.models import PurchaseOrder
from scheduling.services.order_pdf import mail_order
from tests.buying_cast import make_suppliers
from tests.factories import make_estimate, make_sent_proposal
from tests.money_cast import draft_step, issue, make_contract

NOW = dt.datetime(2026, 5, 4, 9, tzinfo=dt.UTC)
BEFORE = ("scheduling", "0022_how_the_air_of_a_day_dries_concrete")


@pytest.fixture
def old_model() -> Iterator[Any]:
    """Give the models as they were before the yard's goods had a worth; all is migrated after."""
    call_command("migrate", *BEFORE, verbosity=0)
    state = MigrationExecutor(connection).loader.project_state(BEFORE)
    yield state.apps.get_model
    call_command("migrate", verbosity=0)


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_what_lies_in_the_yard_is_worth_the_price_of_its_last_receipt(old_model: Any) -> None:
    """Of 10 + 4 posts at 31.25 and 33.335 nine lie there, of rails none: 9 x 33.335 = 300.015."""
    supplier = old_model("estimating", "Supplier").objects.create(name="Alder Supply")
    order = old_model("scheduling", "PurchaseOrder").objects.create(
        supplier=supplier, created_at=NOW
    )
    lines = {
        (item, cost): old_model("scheduling", "OrderLine").objects.create(
            order=order, item=item, name=item, count=20, unit_cost=Decimal(cost)
        )
        for item, cost in (("post", "31.25"), ("post-2", "33.335"), ("rail", "12"))
    }
    stocks = {
        item: old_model("scheduling", "YardStock").objects.create(item=item, name=item, count=count)
        for item, count in (("post", 9), ("rail", 0), ("gravel", 5))
    }
    moves = old_model("scheduling", "StockMove").objects
    for item, at, count in (
        ("post", ("post", "31.25"), 10),
        ("post", ("post-2", "33.335"), 4),
        ("rail", ("rail", "12"), 3),
    ):
        receipt = old_model("scheduling", "Receipt").objects.create(
            line=lines[at], received_on=NOW.date(), count=count, written_at=NOW
        )
        moves.create(
            stock=stocks[item],
            kind="received",
            change=count,
            receipt=receipt,
            moved_on=NOW.date(),
            written_at=NOW,
        )

    call_command("migrate", verbosity=0)

    from scheduling.models import StockMove, YardStock

    worth = dict(YardStock.objects.values_list("item", "worth"))
    assert worth == {"post": Decimal("300.02"), "rail": Decimal(0), "gravel": Decimal(0)}
    for row in YardStock.objects.all():
        assert sum(StockMove.objects.filter(stock=row).values_list("worth", flat=True)) == row.worth


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_mails_with_links_to_a_password_are_known_as_such() -> None:
    before = ("firm", "0014_whose_holidays_the_firm_keeps")
    call_command("migrate", *before, verbosity=0)
    mails = (
        MigrationExecutor(connection)
        .loader.project_state(before)
        .apps.get_model("firm", "OutgoingMail")
    )
    for owner_only in (True, False):
        mails.objects.create(
            to="kit@example.com", subject="x", body="x", owner_only=owner_only, created_at=NOW
        )
    call_command("migrate", verbosity=0)
    kinds = OutgoingMail.objects.values_list("owner_only", "kind")
    assert set(kinds) == {(True, "password"), (False, "other")}


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_mails_kept_under_their_subject_are_known_by_what_they_bring() -> None:
    """A revision's number begins with the first's, an order's may be an invoice's."""
    first = make_sent_proposal()
    make_sent_proposal(make_estimate(first.estimate.site, revision=2))
    contract = make_contract(number=1007)
    mail_invoice(issue(draft_step(contract), to="wren@example.com"), pdf=b"%PDF-", now=NOW)
    order = PurchaseOrder.objects.create(
        supplier=make_suppliers()[0],
        number=1001,
        state="sent",
        created_at=NOW,
        sent_at=NOW,
        sent_on=NOW.date(),
        sent_to="sales@quarry.example",
    )
    mail_order(order, pdf=b"%PDF-", now=NOW)
    as_written = sorted(OutgoingMail.objects.values_list("subject", "kind", "about"))
    assert len({(kind, about) for _, kind, about in as_written}) == 4

    call_command("migrate", "firm", "0015_what_a_mail_is_for", verbosity=0)
    call_command("migrate", verbosity=0)

    assert sorted(OutgoingMail.objects.values_list("subject", "kind", "about")) == as_written
