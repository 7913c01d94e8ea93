"""From direct cost to the price: overhead, margin, minimum, tax, options, and each line's part."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.engine.catalog import Override, Rules, TypedLine
from estimating.engine.costing import HOUR_PLACES, PERCENT, DirectCost, total_of, typed_cost_lines
from estimating.engine.errors import EngineError
from estimating.engine.price_lines import Share, price_lines
from estimating.engine.result import Finding
from estimating.engine.sums import Money, OptionPrice, PriceLine
from firm.measure.money import CENT, round_up_to, to_cents
from firm.measure.units import to_decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class Pricing:
    """The build-up, the customer's lines that add up to it, and the optional extras."""

    money: Money
    price_lines: tuple[PriceLine, ...]
    options: tuple[OptionPrice, ...]
    findings: tuple[Finding, ...]


def price_job(
    direct: DirectCost,
    rules: Rules,
    *,
    shares: Sequence[Share],
    typed: Sequence[TypedLine],
    fence_ft: float,
    set_price: Override | None,
) -> Pricing:
    """Price a job. Lines with a fixed price keep it; all other cost is marked up together."""
    keep_share(rules)
    fixed = [line for line in typed if line.price is not None and not line.is_optional]
    fixed_price = sum((to_cents(line.price or Decimal(0)) for line in fixed), Decimal(0))
    computed = fixed_price
    if shares:
        computed += marked_up(total_of(direct.cost_lines), direct.hours - direct.fixed_hours, rules)
    price, findings = _final_price(computed, rules, set_price, has_work=bool(shares or fixed))
    money = _money(direct, rules, price=price, fence_ft=fence_ft)
    return Pricing(
        money=money,
        price_lines=price_lines(price, shares=shares, fixed=fixed),
        options=tuple(_option(line, rules) for line in typed if line.is_optional),
        findings=(*findings, *_money_findings(money, rules)),
    )


def keep_share(rules: Rules) -> Decimal:
    """Return the part of the price that must cover the break-even: 1 - margin - commission."""
    share = 1 - (rules.target_margin_pct + rules.commission_pct) / PERCENT
    if share <= 0:
        raise EngineError(
            "Margin and commission together must stay below 100 % of the price.",
            field="rules.target_margin_pct",
        )
    return share


def overhead_for(direct_cost: Decimal, hours: Decimal, rules: Rules) -> Decimal:
    """Return the overhead a cost or its hours carry, rounded once to the cent."""
    if rules.overhead_method == "percent_of_direct":
        return to_cents(direct_cost * rules.overhead_rate / PERCENT)
    if rules.overhead_method == "per_labor_hour":
        return to_cents(hours * rules.overhead_rate)
    return to_cents(crew_days_for(hours, rules) * rules.overhead_rate)


def crew_days_for(hours: Decimal, rules: Rules) -> Decimal:
    """Return the days the whole crew takes, unrounded."""
    hours_in_day = to_decimal(rules.hours_per_day, 4)
    if rules.crew_size <= 0 or hours_in_day <= 0:
        raise EngineError(
            "A crew needs people and hours in its day.",
            field="rules.crew_size" if rules.crew_size <= 0 else "rules.hours_per_day",
        )
    return hours / (rules.crew_size * hours_in_day)


def marked_up(direct_cost: Decimal, hours: Decimal, rules: Rules) -> Decimal:
    """Return the price that leaves the target margin, and the commission, of itself."""
    break_even = direct_cost + overhead_for(direct_cost, hours, rules)
    return round_price(break_even / keep_share(rules), rules)


def round_price(price: Decimal, rules: Rules) -> Decimal:
    """Return a price to the cent, or up to the firm's own step."""
    if rules.price_rounding > CENT:
        return round_up_to(price, rules.price_rounding)
    return to_cents(price)


def _final_price(
    computed: Decimal, rules: Rules, set_price: Override | None, *, has_work: bool
) -> tuple[Decimal, list[Finding]]:
    minimum = to_cents(rules.minimum_charge)
    if set_price is not None:
        price = to_cents(set_price.value)
        return price, [_below_minimum(price, minimum)] if price < minimum else []
    if has_work and computed < minimum:
        return minimum, [_raised_to_minimum(computed, minimum)]
    return computed, []


def _money(direct: DirectCost, rules: Rules, *, price: Decimal, fence_ft: float) -> Money:
    direct_cost = direct.total()
    overhead = overhead_for(direct_cost, direct.hours, rules)
    break_even = direct_cost + overhead
    commission = to_cents(price * rules.commission_pct / PERCENT)
    margin = price - break_even - commission
    tax = _sales_tax(price, direct, rules)
    feet = to_decimal(fence_ft, 4)
    return Money(
        material=direct.total("material"),
        labour=direct.total("labour"),
        equipment=direct.total("equipment"),
        fees=direct.total("fee"),
        travel=direct.total("travel"),
        typed=direct.total("typed"),
        purchase_tax=direct.total("tax"),
        direct_cost=direct_cost,
        crew_days=crew_days_for(direct.hours, rules),
        overhead=overhead,
        break_even=break_even,
        margin=margin,
        margin_pct_of_price=to_cents(margin / price * PERCENT) if price else Decimal(0),
        price_before_tax=price,
        sales_tax=tax,
        price=price + tax,
        price_per_ft=to_cents(price / feet) if feet else None,
        commission=commission,
    )


def _sales_tax(price: Decimal, direct: DirectCost, rules: Rules) -> Decimal:
    """Return the tax the customer pays: on the whole price, or on what the material cost."""
    bases = {
        "none": Decimal(0),
        "material": direct.total("material"),
        "all": price,
    }
    return to_cents(bases[rules.sales_tax_base] * rules.sales_tax_pct / PERCENT)


def _option(line: TypedLine, rules: Rules) -> OptionPrice:
    """Price an optional extra. Where only material is taxed, a typed line bears no tax."""
    amount = to_cents(line.price) if line.price is not None else _option_price(line, rules)
    is_taxed = rules.sales_tax_base == "all"
    return OptionPrice(
        key=line.key,
        description=line.description,
        amount=amount,
        tax_amount=to_cents(amount * rules.sales_tax_pct / PERCENT) if is_taxed else Decimal(0),
    )


def _option_price(line: TypedLine, rules: Rules) -> Decimal:
    cost = total_of(typed_cost_lines([line], rules))
    return marked_up(cost, to_decimal(line.labor_hours, HOUR_PLACES), rules)


def _money_findings(money: Money, rules: Rules) -> list[Finding]:
    price = money.price_before_tax
    if price == 0 and money.direct_cost == 0:
        return []
    if price < money.break_even:
        return [_below_break_even(money)]
    # A cent's rounding of the price may cost a hair of the margin; a hundredth of a percent not.
    if money.margin_pct_of_price < rules.target_margin_pct - CENT:
        return [_below_target(money, rules)]
    return []


def _below_break_even(money: Money) -> Finding:
    return Finding(
        code="price-below-break-even",
        severity="warn",
        message="The price does not cover direct cost and overhead.",
        place="price",
        figure=f"${money.price_before_tax:,}",
        limit=f"${money.break_even:,}",
        action="Raise the price, or have the owner agree to the loss.",
    )


def _below_target(money: Money, rules: Rules) -> Finding:
    return Finding(
        code="margin-below-target",
        severity="warn",
        message="The price leaves less than the target margin.",
        place="price",
        figure=f"{money.margin_pct_of_price} %",
        limit=f"{rules.target_margin_pct} %",
        action="Check the figures set by hand and the lines with a fixed price.",
    )


def _below_minimum(price: Decimal, minimum: Decimal) -> Finding:
    return Finding(
        code="price-below-minimum",
        severity="warn",
        message="The price set by hand is below the firm's minimum charge.",
        place="price",
        figure=f"${price:,}",
        limit=f"${minimum:,}",
        action="Raise the price to the minimum charge, or note who agreed to less.",
    )


def _raised_to_minimum(computed: Decimal, minimum: Decimal) -> Finding:
    return Finding(
        code="minimum-charge-applied",
        severity="note",
        message="The price was raised to the firm's minimum charge.",
        place="price",
        figure=f"${computed:,}",
        limit=f"${minimum:,}",
    )
