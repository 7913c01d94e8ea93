"""Questions about money: what of a contract is invoiced, paid, open and overdue."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from django.db.models import DecimalField, F, Q, QuerySet, Sum, Value
from django.db.models.functions import Coalesce

from estimating.engine.invoicing import IssuedInvoice, Reckoning, reckon
from estimating.models import (
    Acceptance,
    ChangeOrder,
    Invoice,
    InvoiceLine,
    Payment,
    Proposal,
    ProposalPayment,
)
from firm.models import Clearance, JobState, OutgoingMail
from firm.models import Job as BackgroundJob
from firm.selectors.kept_mails import kept_mail_about

NOTHING = Decimal(0)
PRINT_JOB = "invoice.print"
# SQLite sums as floats: what is less than half a cent apart is the same amount.
HALF_A_CENT = Decimal("0.005")
STATES = (
    ("drafts", "Drafts"),
    ("open", "Open"),
    ("overdue", "Overdue"),
    ("all", "All"),
)


@dataclass(frozen=True, kw_only=True, slots=True)
class InvoiceStanding:
    """An invoice with what was paid of it; `words` and `tone` say how it stands."""

    invoice: Invoice
    paid: Decimal
    open: Decimal
    is_overdue: bool
    words: str
    tone: str


@dataclass(frozen=True, kw_only=True, slots=True)
class StepStanding:
    """One step of the accepted payment schedule, and the invoice that asks for it, if any."""

    step: ProposalPayment
    invoice: Invoice | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Contract:
    """A contract with its money: all sums reconcile to the cent."""

    proposal: Proposal
    acceptance: Acceptance
    changes: Sequence[ChangeOrder]
    invoices: Sequence[InvoiceStanding]
    payments: Sequence[Payment]
    money: Reckoning

    @property
    def overpaid(self) -> Decimal:
        """What was received beyond the contract's price."""
        return max(-self.money.open, NOTHING)

    @property
    def balance(self) -> Invoice | None:
        """The balance invoice, drafted or issued."""
        return next(
            (
                each.invoice
                for each in self.invoices
                if each.invoice.kind == Invoice.Kind.BALANCE
                and each.invoice.state != Invoice.State.VOID
            ),
            None,
        )


def contract_of(proposal_id: int, *, today: dt.date) -> Contract | None:
    """Return a contract with its money, or None while the proposal is not accepted."""
    acceptance = (
        Acceptance.objects.filter(proposal=proposal_id)
        .select_related("proposal__estimate__customer", "proposal__estimate__site")
        .first()
    )
    return contracts([acceptance], today=today)[proposal_id] if acceptance else None


def contracts(acceptances: Iterable[Acceptance], *, today: dt.date) -> dict[int, Contract]:
    """Return contracts by their proposals' ids; three queries however many there are."""
    accepted = {each.proposal_id: each for each in acceptances}
    changes = _by_proposal(
        ChangeOrder.objects.filter(proposal__in=accepted, state=ChangeOrder.State.SIGNED)
    )
    invoices = _by_proposal(invoice_rows().filter(proposal__in=accepted).order_by("pk"))
    payments = _by_proposal(
        Payment.objects.filter(proposal__in=accepted).select_related("invoice", "recorded_by")
    )
    return {
        key: _contract(
            each, changes.get(key, []), invoices.get(key, []), payments.get(key, []), today
        )
        for key, each in accepted.items()
    }


Row = TypeVar("Row", ChangeOrder, Invoice, Payment)


def _by_proposal(rows: "QuerySet[Row]") -> dict[int, list[Row]]:
    found: dict[int, list[Row]] = {}
    for row in rows:
        found.setdefault(row.proposal_id, []).append(row)
    return found


def _contract(
    acceptance: Acceptance,
    changes: Sequence[ChangeOrder],
    invoices: Sequence[Invoice],
    payments: Sequence[Payment],
    today: dt.date,
) -> Contract:
    standing = [each for each in payments if each.voided_at is None]
    issued = sorted(
        (each for each in invoices if each.state == Invoice.State.ISSUED),
        key=lambda each: each.number or 0,
    )
    money = reckon(
        total=acceptance.total
        # Summed here and not by the database: SQLite adds decimals as floats.
        + sum((each.price_before_tax + each.sales_tax for each in changes), NOTHING),
        invoices=[
            IssuedInvoice(
                key=each.pk,
                amount=each.amount,
                paid=_sum(row for row in standing if row.invoice_id == each.pk),
                is_balance=each.kind == Invoice.Kind.BALANCE,
            )
            for each in issued
        ],
        received=_sum(standing),
        credited=sum((credited(each) for each in issued), NOTHING),
    )
    return Contract(
        proposal=acceptance.proposal,
        acceptance=acceptance,
        changes=changes,
        invoices=[_standing(each, money, today) for each in invoices],
        payments=payments,
        money=money,
    )


def _sum(payments: Iterable[Payment]) -> Decimal:
    return sum((each.amount for each in payments), NOTHING)


def credited(invoice: Invoice) -> Decimal:
    """Return what an issued balance took off for money received without an invoice."""
    return Decimal(invoice.content.get("credited", "0"))


def _standing(invoice: Invoice, money: Reckoning, today: dt.date) -> InvoiceStanding:
    is_issued = invoice.state == Invoice.State.ISSUED
    left = money.open_by_invoice.get(invoice.pk, NOTHING)
    paid = invoice.amount - left if is_issued else NOTHING
    is_overdue = bool(left and invoice.due_on and invoice.due_on < today)
    words, tone = _words(invoice, paid, left, is_overdue=is_overdue)
    return InvoiceStanding(
        invoice=invoice, paid=paid, open=left, is_overdue=is_overdue, words=words, tone=tone
    )


def _words(invoice: Invoice, paid: Decimal, left: Decimal, *, is_overdue: bool) -> tuple[str, str]:
    if invoice.state != Invoice.State.ISSUED:
        return invoice.get_state_display(), "warn" if invoice.number else ""
    if not left:
        return "Paid", "ok"
    if is_overdue:
        return ("Overdue, part paid" if paid else "Overdue"), "stop"
    return ("Part paid", "warn") if paid else ("Open", "")


def invoice_rows() -> QuerySet[Invoice]:
    """Return invoices with what a list of them shows."""
    return Invoice.objects.select_related("proposal__estimate__customer")


def standings(invoices: Sequence[Invoice], *, today: dt.date) -> list[InvoiceStanding]:
    """Return invoices, of any contracts, with what is open on each."""
    accepted = Acceptance.objects.filter(proposal__in={each.proposal_id for each in invoices})
    found = contracts(accepted.select_related("proposal"), today=today)
    known = {each.invoice.pk: each for one in found.values() for each in one.invoices}
    return [known[each.pk] for each in invoices]


def unsettled(*, today: dt.date) -> list[InvoiceStanding]:
    """Return the issued invoices on which something is open, the one due first at the top."""
    mine = Sum("payments__amount", filter=Q(payments__voided_at__isnull=True))
    nothing = Value(NOTHING, output_field=DecimalField())
    candidates = (
        invoice_rows()
        .filter(state=Invoice.State.ISSUED)
        .annotate(left=F("amount") - Coalesce(mine, nothing))
        .filter(left__gt=HALF_A_CENT)
        .order_by("due_on", "number")
    )
    return [each for each in standings(list(candidates), today=today) if each.open]


def drafts() -> QuerySet[Invoice]:
    """Return the drafts, newest first."""
    return invoice_rows().filter(state=Invoice.State.DRAFT)


def steps_of(contract: Contract) -> list[StepStanding]:
    """Return the accepted payment schedule with the invoice of each step."""
    by_step = {
        each.invoice.content.get("step"): each.invoice
        for each in contract.invoices
        if each.invoice.state != Invoice.State.VOID
    }
    return [
        StepStanding(step=step, invoice=by_step.get(step.pk))
        for step in contract.proposal.payments.all()
    ]


def is_deposit_unrecorded(contract: Contract) -> bool:
    """Return whether the site's deposit is marked received while no payment is written down."""
    site_id = contract.proposal.estimate.site_id
    if site_id is None or any(each.voided_at is None for each in contract.payments):
        return False
    return Clearance.objects.filter(
        site=site_id, kind=Clearance.Kind.DEPOSIT, state=Clearance.State.CLEAR
    ).exists()


def lines_of(invoice: Invoice) -> QuerySet[InvoiceLine]:
    """Return an invoice's lines in their order."""
    return InvoiceLine.objects.filter(invoice=invoice)


def print_job(invoice: Invoice) -> BackgroundJob | None:
    """Return the last job that prints the invoice."""
    jobs = BackgroundJob.objects.filter(kind=PRINT_JOB, arguments__invoice_id=invoice.pk)
    return jobs.order_by("-pk").first()


def is_printing(invoice: Invoice, job: BackgroundJob | None) -> bool:
    """Return whether the invoice's PDF is still being made."""
    return not invoice.pdf_sha256 and job is not None and not job.is_over


def print_failure(invoice: Invoice, job: BackgroundJob | None) -> str:
    """Return why the PDF could not be made, or nothing."""
    if invoice.pdf_sha256 or job is None or job.state != JobState.FAILED:
        return ""
    return job.error or "No reason was given."


def kept_mail(invoice: Invoice) -> OutgoingMail | None:
    """Return the mail that would have carried the invoice, had a mail server been set."""
    kind = OutgoingMail.Kind.INVOICE
    return kept_mail_about(kind=kind, about=invoice.pk, to=invoice.sent_to)
