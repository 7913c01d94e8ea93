"""What is paid when: a deposit within the state's cap, and steps that add up to the price."""

from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal

from firm.measure.money import CENT, to_cents

HUNDRED = Decimal(100)
ON_ACCEPTANCE = "Deposit, when you accept"
ON_POSTS_SET = "When the posts are set"
ON_COMPLETION = "When the work is complete"


@dataclass(frozen=True, kw_only=True, slots=True)
class DepositRule:
    """What the firm asks for, and the most its state allows; None where there is no cap."""

    pct: Decimal
    cap_pct: Decimal | None = None
    cap_amount: Decimal | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class PaymentStep:
    """One payment and what it falls due with."""

    description: str
    amount: Decimal


def largest_deposit(price: Decimal, rule: DepositRule) -> Decimal:
    """Return the most that may be asked before work begins, rounded down: a cap is a cap."""
    caps = [price]
    if rule.cap_pct is not None:
        caps.append((price * rule.cap_pct / HUNDRED).quantize(CENT, rounding=ROUND_DOWN))
    if rule.cap_amount is not None:
        caps.append(rule.cap_amount.quantize(CENT, rounding=ROUND_DOWN))
    return min(caps)


def deposit_for(price: Decimal, rule: DepositRule) -> Decimal:
    """Return the deposit to the cent: the firm's share of the price, or the cap if it is less."""
    return min(to_cents(price * rule.pct / HUNDRED), largest_deposit(price, rule))


def schedule_payments(price: Decimal, rule: DepositRule) -> list[PaymentStep]:
    """Return the deposit and the rest in two halves, an odd cent in the last; none is nothing."""
    deposit = deposit_for(price, rule)
    rest = price - deposit
    middle = (rest / 2).quantize(CENT, rounding=ROUND_DOWN)
    steps = [
        PaymentStep(description=ON_ACCEPTANCE, amount=deposit),
        PaymentStep(description=ON_POSTS_SET, amount=middle),
        PaymentStep(description=ON_COMPLETION, amount=rest - middle),
    ]
    return [step for step in steps if step.amount > 0]
