"""What an invoice prints: put together once, frozen when it is issued."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from estimating.models import Invoice, InvoiceLine, Payment
from estimating.selectors.accepted import accepted_work
from estimating.selectors.invoices import Contract, lines_of
from estimating.services.proposal_content import (
    Party,
    Row,
    customer_party,
    day_words,
    firm_party,
    site_lines,
)
from firm.measure.money import format_money
from firm.models import FirmProfile

NOTHING = Decimal(0)
DESCRIPTION_MAX_CHARS = InvoiceLine._meta.get_field("description").max_length or 0


@dataclass(frozen=True, kw_only=True, slots=True)
class InvoiceContent:
    """Everything printed on an invoice, as text."""

    number: str
    kind: str
    title: str
    dated: str
    due: str
    contract: str
    firm: Party
    customer: Party
    site: tuple[str, ...]
    note: str
    rows: tuple[Row, ...]
    total: str
    standing: tuple[Row, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """One line of an invoice."""

    description: str
    amount: Decimal


def balance_lines(contract: Contract) -> list[Line]:
    """Return the lines of a balance: what was sold and changed, less what was asked and received.

    They add up to the contract's balance.
    """
    return [
        Line(description=words[:DESCRIPTION_MAX_CHARS], amount=amount)
        for words, amount in (
            *_sold(contract),
            *_less_invoices(contract),
            *_less_payments(contract),
        )
    ]


def _sold(contract: Contract) -> Iterator[tuple[str, Decimal]]:
    options = len(contract.acceptance.options)
    with_options = f" with {options} option{'s' if options > 1 else ''}" if options else ""
    label = contract.proposal.estimate.label
    yield f"Price of proposal {label} as accepted{with_options}", contract.acceptance.total
    for change in contract.changes:
        yield (
            f"Change order {change.number}: {change.title}",
            change.price_before_tax + change.sales_tax,
        )


def _less_invoices(contract: Contract) -> Iterator[tuple[str, Decimal]]:
    for each in contract.invoices:
        invoice = each.invoice
        if invoice.state == Invoice.State.ISSUED and invoice.issued_on is not None:
            words = f"Less invoice {invoice.number} of {day_words(invoice.issued_on)}"
            yield words, -invoice.amount


def _less_payments(contract: Contract) -> Iterator[tuple[str, Decimal]]:
    """Yield payments of no invoice, or of one that is void, and what was paid too much on one."""
    issued = {
        each.invoice.pk: each.invoice
        for each in contract.invoices
        if each.invoice.state == Invoice.State.ISSUED
    }
    paid: dict[int, Decimal] = {}
    for payment in contract.payments:
        if payment.voided_at is not None:
            continue
        if payment.invoice_id in issued:
            paid[payment.invoice_id] = paid.get(payment.invoice_id, NOTHING) + payment.amount
        else:
            yield f"Less received on {_payment_words(payment)}", -payment.amount
    for key, amount in paid.items():
        if amount > issued[key].amount:
            yield f"Less paid too much on invoice {issued[key].number}", issued[key].amount - amount


def _payment_words(payment: Payment) -> str:
    way = payment.get_way_display().lower()
    if payment.way == Payment.Way.OTHER:
        way = ""
    return " ".join(filter(None, [f"{day_words(payment.received_on)},", way, payment.reference]))


def build_content(
    invoice: Invoice,
    contract: Contract,
    *,
    number: int | None,
    issued_on: dt.date,
    due_on: dt.date,
    firm: FirmProfile,
) -> InvoiceContent:
    """Return what an invoice prints, as the contract and the firm stand now."""
    estimate = contract.proposal.estimate
    accepted_on = day_words(timezone.localdate(contract.acceptance.accepted_at))
    return InvoiceContent(
        number=str(number) if number else "not numbered yet",
        kind=invoice.get_kind_display(),
        title=estimate.title,
        dated=day_words(issued_on),
        due=day_words(due_on),
        contract=f"Proposal {estimate.label}, accepted on {accepted_on}",
        firm=firm_party(firm),
        customer=customer_party(estimate.customer),
        site=site_lines(estimate.site),
        note=invoice.note,
        rows=tuple(
            Row(description=line.description, amount=format_money(line.amount))
            for line in lines_of(invoice)
        ),
        total=format_money(invoice.amount),
        standing=tuple(
            Row(description=words, amount=format_money(amount))
            for words, amount in _standing(invoice, contract)
        ),
    )


def _standing(invoice: Invoice, contract: Contract) -> Sequence[tuple[str, Decimal]]:
    """Return the contract's money beside this invoice, for a reader who kept no other paper."""
    money = contract.money
    sales_tax = _sales_tax(contract)
    still_open = sum(
        (amount for key, amount in money.open_by_invoice.items() if key != invoice.pk), NOTHING
    )
    rows = [("Contract price with signed changes", money.total)]
    if sales_tax:
        rows.append(("Sales tax in it", sales_tax))
    rows.append(("Received before this invoice", money.received))
    if still_open:
        rows.append(("Open on earlier invoices, beside this one", still_open))
    return rows


def _sales_tax(contract: Contract) -> Decimal:
    work = accepted_work(contract.proposal.pk)
    sold = work.sales_tax if work else NOTHING
    return sold + sum((each.sales_tax for each in contract.changes), NOTHING)
