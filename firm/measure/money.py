"""Money: rounding to the cent, sharing an amount out without losing a cent, and printing it."""

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

CENT = Decimal("0.01")


def to_cents(amount: Decimal) -> Decimal:
    """Return an amount rounded half-up to the cent."""
    return amount.quantize(CENT, rounding=ROUND_HALF_UP)


def round_up_to(amount: Decimal, step: Decimal) -> Decimal:
    """Return the smallest multiple of `step` not below the amount, itself to the cent."""
    steps = (amount / step).to_integral_value(rounding=ROUND_CEILING)
    return to_cents(steps * step)


def share_out(amount: Decimal, weights: Sequence[Decimal]) -> list[Decimal]:
    """Share an amount in whole cents by weight; the shares add up to it exactly.

    The cents that rounding down leaves over go to the largest remainders, earlier first. Where
    no weight is above zero every share counts the same.
    """
    if not weights:
        return []
    total = sum(weights, Decimal(0))
    if total <= 0:
        weights, total = [Decimal(1)] * len(weights), Decimal(len(weights))
    sign = -1 if amount < 0 else 1
    cents = abs(to_cents(amount)) / CENT
    exact = [cents * weight / total for weight in weights]
    whole = [part.to_integral_value(rounding="ROUND_FLOOR") for part in exact]
    left = int(cents - sum(whole, Decimal(0)))
    by_remainder = sorted(range(len(exact)), key=lambda i: (whole[i] - exact[i], i))
    for i in by_remainder[:left]:
        whole[i] += 1
    return [sign * part * CENT for part in whole]


def format_money(amount: Decimal) -> str:
    """Return an amount as it stands on paper, such as $6,770.34 or -$12.00."""
    cents = to_cents(amount)
    return f"-${-cents:,.2f}" if cents < 0 else f"${cents:,.2f}"
