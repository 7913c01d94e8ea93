"""What is invoiced, paid and open comes out to the cent, whatever is invoiced and paid."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from estimating.engine.invoicing import IssuedInvoice, reckon

CENTS = st.decimals(min_value=0, max_value=20_000, places=2)
NOTHING = Decimal(0)


def money(text: str) -> Decimal:
    return Decimal(text)


def test_deposit_paid_on_its_invoice_leaves_the_balance() -> None:
    # 5,100.00 sold; deposit 2,040.00 invoiced, 1,000.00 of it paid. Not invoiced: 5,100.00 -
    # 2,040.00 = 3,060.00. Open on the deposit 1,040.00; owed in all 4,100.00 = 3,060.00 + 1,040.00.
    found = reckon(
        total=money("5100.00"),
        invoices=[IssuedInvoice(key=1, amount=money("2040.00"), paid=money("1000.00"))],
        received=money("1000.00"),
    )
    assert found.balance == found.uninvoiced == money("3060.00")
    assert found.open_by_invoice == {1: money("1040.00")}
    assert (found.open, found.spare) == (money("4100.00"), NOTHING)


def test_money_without_an_invoice_waits_for_the_balance() -> None:
    # 2,000.00 came in without an invoice, then 1,500.00 are invoiced: the invoice stays open, and
    # the balance is 5,100.00 - 1,500.00 - 2,000.00 = 1,600.00.
    found = reckon(
        total=money("5100.00"),
        invoices=[IssuedInvoice(key=1, amount=money("1500.00"))],
        received=money("2000.00"),
    )
    assert found.open_by_invoice == {1: money("1500.00")}
    assert found.balance == money("1600.00")


def test_money_that_comes_after_the_balance_goes_to_the_oldest_open_invoice() -> None:
    # The balance of 1,600.00 took 2,000.00 off. 1,700.00 more come: 1,500.00 close the first
    # invoice, 200.00 go to the balance, of which 1,400.00 stay open: 5,100.00 - 3,700.00.
    found = reckon(
        total=money("5100.00"),
        invoices=[
            IssuedInvoice(key=1, amount=money("1500.00")),
            IssuedInvoice(key=2, amount=money("1600.00"), is_balance=True),
        ],
        received=money("3700.00"),
        credited=money("2000.00"),
    )
    assert found.open_by_invoice == {1: NOTHING, 2: money("1400.00")}
    assert (found.open, found.uninvoiced, found.spare) == (money("1400.00"), NOTHING, NOTHING)


def test_check_that_came_back_after_it_was_taken_off_is_owed_again() -> None:
    # 100.00 sold, 40.00 received and taken off, balance 60.00 issued; then the 40.00 is void.
    found = reckon(
        total=money("100.00"),
        invoices=[IssuedInvoice(key=1, amount=money("60.00"), is_balance=True)],
        received=NOTHING,
        credited=money("40.00"),
    )
    assert (found.open, found.open_by_invoice) == (money("100.00"), {1: money("60.00")})
    assert found.balance == money("40.00")


def test_paid_too_much_on_one_invoice_is_taken_off_the_balance() -> None:
    # 100.00 sold, 30.00 invoiced, 50.00 paid for it: 20.00 spare, 100 - 30 - 20 = 50.00 left.
    found = reckon(
        total=money("100.00"),
        invoices=[IssuedInvoice(key=1, amount=money("30.00"), paid=money("50.00"))],
        received=money("50.00"),
    )
    assert (found.spare, found.balance) == (money("20.00"), money("50.00"))


@st.composite
def invoices(draw: st.DrawFn) -> list[IssuedInvoice]:
    rows = draw(st.lists(st.tuples(CENTS, CENTS), max_size=6))
    has_balance = draw(st.booleans())
    return [
        IssuedInvoice(
            key=key, amount=amount, paid=paid, is_balance=has_balance and key == len(rows) - 1
        )
        for key, (amount, paid) in enumerate(rows)
    ]


@given(
    total=CENTS,
    rows=invoices(),
    loose=CENTS,
    credited=CENTS,
)
def test_what_is_owed_is_what_is_open_and_what_is_not_invoiced_less_spare_money(
    total: Decimal, rows: list[IssuedInvoice], loose: Decimal, credited: Decimal
) -> None:
    received = sum((row.paid for row in rows), loose)
    taken_off = credited if any(row.is_balance for row in rows) else NOTHING
    found = reckon(total=total, invoices=rows, received=received, credited=taken_off)
    still_open = sum(found.open_by_invoice.values(), NOTHING)

    assert found.received + found.open == total
    assert found.open == still_open + found.uninvoiced - found.spare
    assert all(
        0 <= found.open_by_invoice[row.key] <= max(row.amount - row.paid, NOTHING) for row in rows
    )
    if taken_off and found.spare > 0:
        assert still_open == 0


@given(total=CENTS, rows=invoices(), loose=CENTS)
def test_invoicing_the_balance_leaves_nothing_that_is_not_invoiced(
    total: Decimal, rows: list[IssuedInvoice], loose: Decimal
) -> None:
    earlier = [IssuedInvoice(key=row.key, amount=row.amount, paid=row.paid) for row in rows]
    received = sum((row.paid for row in rows), loose)
    before = reckon(total=total, invoices=earlier, received=received)
    if before.balance <= 0:
        return
    balance = IssuedInvoice(key=99, amount=before.balance, is_balance=True)
    after = reckon(
        total=total, invoices=[*earlier, balance], received=received, credited=before.spare
    )
    assert (after.balance, after.uninvoiced, after.spare) == (NOTHING, NOTHING, NOTHING)
    assert sum(after.open_by_invoice.values(), NOTHING) == total - received
