"""At which price an estimate keeps its margin how often: for the office, never stored.

Worked out on each page from today's uncertain rows, so that nothing of it can reach a proposal.
"""

from dataclasses import dataclass
from decimal import Decimal

from estimating import mapping
from estimating.drawing.histogram import PriceMark, histogram_svg
from estimating.engine.errors import EngineError
from estimating.engine.risk import LEVELS_PCT, Risk, RowEffect, simulate
from estimating.engine.uncertain import Uncertain
from estimating.models import Estimate, UncertainRow
from estimating.selectors.measurements import read_with
from firm.measure.money import format_money

CONFIDENCE_PCT = 80


@dataclass(frozen=True, kw_only=True, slots=True)
class LevelRow:
    """A price and in how many per cent of the draws it keeps the target margin."""

    level_pct: int
    price: Decimal
    change: Decimal
    is_chosen: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class RiskView:
    """What the page of an estimate's risk shows; prices are before tax."""

    risk: Risk
    target_margin_pct: Decimal
    price: Decimal
    levels: list[LevelRow]
    effects: list[RowEffect]
    histogram: str

    @property
    def more(self) -> Decimal:
        """How much the price of the chosen confidence is above today's."""
        return self.price - self.risk.todays_price


def risk_view(estimate: Estimate) -> RiskView | None:
    """Return what the page shows; None where the firm marks nothing uncertain.

    Raises:
        EngineError: the estimate was not priced, or can't be read any more.
    """
    result = mapping.result_of(estimate)
    if result is None:
        raise EngineError("This estimate has not been priced.")
    rows = uncertain_rows()
    if not rows:
        return None
    rules = read_with(estimate.document, estimate.catalog, may_lack_layout=True).catalog.rules
    risk = simulate(
        result,
        rules,
        rows,
        typed=mapping.typed_lines(estimate.typed_lines.all()),
        todays_price=estimate.price_before_tax,
        seed=estimate.number,
    )
    price = risk.price_at(CONFIDENCE_PCT)
    return RiskView(
        risk=risk,
        target_margin_pct=rules.target_margin_pct,
        price=price,
        levels=[_level(risk, level) for level in LEVELS_PCT],
        effects=sorted(risk.effects, key=lambda each: -each.dear),
        histogram=_histogram(risk, price),
    )


def uncertain_rows() -> list[Uncertain]:
    """Return the rows that the firm marks uncertain today, as the engine takes them."""
    return [mapping.uncertain(row) for row in UncertainRow.objects.filter(is_active=True)]


def _level(risk: Risk, level_pct: int) -> LevelRow:
    price = risk.price_at(level_pct)
    return LevelRow(
        level_pct=level_pct,
        price=price,
        change=price - risk.todays_price,
        is_chosen=level_pct == CONFIDENCE_PCT,
    )


def _histogram(risk: Risk, price: Decimal) -> str:
    today = format_money(risk.todays_price)
    chosen = format_money(price)
    return histogram_svg(
        risk.edges,
        risk.counts,
        marks=[
            PriceMark(price=float(risk.todays_price), words=f"today {today}"),
            PriceMark(price=float(price), words=f"{CONFIDENCE_PCT} % at {chosen}", is_strong=True),
        ],
        title="Prices that would keep the target margin",
        about=(
            f"{risk.draws:,} draws from {format_money(Decimal(str(risk.edges[0])))} to "
            f"{format_money(Decimal(str(risk.edges[-1])))} before tax; today's price {today} is "
            f"enough in {risk.keeps_target_pct:.0f} %, {chosen} in {CONFIDENCE_PCT} %. The table "
            "below says the same."
        ),
    )
