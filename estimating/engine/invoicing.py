"""What of a contract is invoiced, paid and open: sums of cents that come out exactly."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

NOTHING = Decimal(0)


@dataclass(frozen=True, kw_only=True, slots=True)
class IssuedInvoice:
    """An issued invoice with what was paid for this very invoice; one that is void is none."""

    key: int
    amount: Decimal
    paid: Decimal = NOTHING
    is_balance: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Reckoning:
    """How a contract stands.

    `open` is what the customer still owes in all, below zero what was paid too much; it is
    `uninvoiced` and what is open on the invoices, less `spare`. `spare` is money received that is
    set against no invoice: it is taken off the balance.
    """

    total: Decimal
    invoiced: Decimal
    received: Decimal
    open: Decimal
    uninvoiced: Decimal
    spare: Decimal
    open_by_invoice: dict[int, Decimal]

    @property
    def balance(self) -> Decimal:
        """What a balance invoice asks for: what no invoice asked for, less the spare money."""
        return self.uninvoiced - self.spare


def reckon(
    *,
    total: Decimal,
    invoices: Sequence[IssuedInvoice],
    received: Decimal,
    credited: Decimal = NOTHING,
) -> Reckoning:
    """Return how a contract stands; `invoices` are the issued ones, oldest first.

    `received` is all the money received and not void, `credited` what an issued balance invoice
    took off for money received without an invoice. Until the balance is invoiced, such money waits
    for it; from then on it counts towards the oldest invoice that is open.
    """
    opened = {each.key: max(each.amount - each.paid, NOTHING) for each in invoices}
    invoiced = sum((each.amount for each in invoices), NOTHING)
    spare = received - (invoiced - sum(opened.values(), NOTHING)) - credited
    if any(each.is_balance for each in invoices):
        for each in invoices:
            part = min(opened[each.key], max(spare, NOTHING))
            opened[each.key] -= part
            spare -= part
    return Reckoning(
        total=total,
        invoiced=invoiced,
        received=received,
        open=total - received,
        uninvoiced=total - invoiced - credited,
        spare=spare,
        open_by_invoice=opened,
    )
