"""At which price the firm keeps its target margin how often: a seeded Monte Carlo simulation.

Every row that the firm marks uncertain is drawn for itself, many thousand times; each draw gives a
direct cost, hours, a break-even and the price that leaves the target margin of it.
"""

import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimating.engine.catalog import Rules, TypedLine
from estimating.engine.costing import PERCENT, total_of
from estimating.engine.errors import EngineError
from estimating.engine.pricing import keep_share, round_price
from estimating.engine.result import EstimateResult
from estimating.engine.sums import CostLine
from estimating.engine.uncertain import Uncertain
from firm.measure.money import to_cents
from firm.measure.units import to_decimal

Floats = NDArray[np.float64]
DRAWS = 10_000
LEVELS_PCT = (10, 25, 50, 75, 80, 90, 95)
BINS = 30
PLACES = 6  # finer than half a cent can show, coarser than the noise of float sums
HALF = 0.5
TINY = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class RowEffect:
    """What one uncertain row does: direct cost it adds on average, and in its dearest tenth."""

    row: Uncertain
    mean: Decimal
    dear: Decimal
    is_used: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Risk:
    """What came of the draws. Prices are before tax, rounded as the firm rounds its prices.

    `break_evens` are sorted, in dollars, without the lines whose price is fixed. `edges` has one
    number more than `counts`, of the price that each draw would have needed.
    """

    draws: int
    seed: int
    todays_price: Decimal
    keeps_target_pct: float
    covers_cost_pct: float
    edges: tuple[float, ...]
    counts: tuple[int, ...]
    effects: tuple[RowEffect, ...]
    break_evens: Floats
    rules: Rules
    fixed_price: Decimal
    has_work: bool

    def price_at(self, confidence_pct: float) -> Decimal:
        """Return the price that keeps the target margin in so many per cent of the draws.

        Raises:
            EngineError: the confidence is not above 0 and at most 100 %.
        """
        if not 0 < confidence_pct <= 100:
            raise EngineError("A confidence lies above 0 % and is 100 % at most.", field="level")
        place = max(1, ceil(confidence_pct / 100 * self.draws - TINY))
        return _price_of(self.break_evens[place - 1], self)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Base:
    """The estimate's figures that rows are counted from."""

    direct: float  # without lines whose price is fixed
    hours: float  # the same
    phase_hours: dict[str, float]
    material: float
    concrete: float
    holes: int
    machine: CostLine | None


def simulate(
    result: EstimateResult,
    rules: Rules,
    rows: Sequence[Uncertain],
    *,
    typed: Sequence[TypedLine] = (),
    todays_price: Decimal | None = None,
    seed: int = 0,
    draws: int = DRAWS,
) -> Risk:
    """Draw the uncertain rows; the same seed gives the same answer.

    Each row has a stream of its own, so that taking one out leaves the others' draws as they
    were. `todays_price` is the price that is judged, the estimate's own if it is not given.

    Raises:
        EngineError: margin and commission leave nothing of a price.
    """
    keep = float(keep_share(rules))
    fixed = [line for line in typed if line.price is not None and not line.is_optional]
    base = _base(result, fixed)
    extra_cost, extra_hours, extra_dig = np.zeros(draws), np.zeros(draws), np.zeros(draws)
    effects = []
    for row in rows:
        stream = np.random.default_rng([seed, zlib.crc32(row.key.encode())])
        cost, hours = _drawn(row, base, rules, stream, draws)
        effects.append(_effect(row, cost + hours * float(rules.crew_rate)))
        extra_cost += cost
        extra_hours += hours
        if row.phase == "dig" or row.target == "rock_hole":
            extra_dig += hours
    direct = base.direct + extra_cost + extra_hours * float(rules.crew_rate)
    direct += _machine_cost(base, extra_dig, rules)
    hours = base.hours + extra_hours
    break_evens = np.sort(direct + _overhead(direct, hours, rules))
    price = result.money.price_before_tax if todays_price is None else todays_price
    fixed_price = sum((to_cents(line.price or Decimal(0)) for line in fixed), Decimal(0))
    needed = np.maximum(break_evens / keep + float(fixed_price), float(rules.minimum_charge))
    counts, edges = np.histogram(needed, bins=BINS if needed[-1] - needed[0] > HALF else 1)
    return Risk(
        draws=draws,
        seed=seed,
        todays_price=price,
        keeps_target_pct=_share_below(break_evens / keep + float(fixed_price), price),
        covers_cost_pct=_share_below(
            (break_evens + _fixed_cost(result, fixed, rules))
            / float(1 - rules.commission_pct / PERCENT),
            price,
        ),
        edges=tuple(float(each) for each in edges),
        counts=tuple(int(each) for each in counts),
        effects=tuple(effects),
        break_evens=break_evens,
        rules=rules,
        fixed_price=fixed_price,
        has_work=base.direct > 0 or bool(fixed),
    )


def triangular(stream: np.random.Generator, row: Uncertain, draws: int) -> Floats:
    """Return draws of a triangular row, in per cent; one figure where its range has no width."""
    if row.low_pct == row.high_pct:
        return np.full(draws, row.likely_pct)
    return stream.triangular(row.low_pct, row.likely_pct, row.high_pct, draws)


def happenings(
    stream: np.random.Generator, row: Uncertain, draws: int, *, among: int = 1
) -> Floats:
    """Return how often a chance comes true among so many, each for itself, in every draw."""
    return stream.binomial(among, row.chance_pct / 100, draws).astype(np.float64)


def _drawn(
    row: Uncertain, base: _Base, rules: Rules, stream: np.random.Generator, draws: int
) -> tuple[Floats, Floats]:
    """Return what a row adds in each draw: direct cost beside labour, and labour hours."""
    none = np.zeros(draws)
    if row.target == "rock_hole":
        return none, happenings(stream, row, draws, among=base.holes) * row.extra
    if row.target == "return_trip":
        trips = happenings(stream, row, draws)
        return trips * float(to_cents(rules.travel_per_trip)), trips * row.extra
    if row.shape == "chance":
        share = happenings(stream, row, draws) * row.extra / 100
    else:
        share = triangular(stream, row, draws) / 100
    if row.phase is not None:
        return none, share * base.phase_hours.get(row.phase, 0.0)
    figure = base.concrete if row.target == "concrete" else base.material
    return share * figure * float(1 + rules.purchase_tax_pct / PERCENT), none


def _base(result: EstimateResult, fixed: Sequence[TypedLine]) -> _Base:
    apart = {f"typed:{line.key}" for line in fixed}
    lines = [line for line in result.cost_lines if line.item not in apart]
    labour = [line for line in lines if line.kind == "labour"]
    material = [line for line in lines if line.kind == "material"]
    bag = result.concrete.bag_item
    return _Base(
        direct=float(total_of(lines)),
        hours=float(sum((line.quantity for line in labour), Decimal(0))),
        phase_hours={line.item: float(line.quantity) for line in labour},
        material=float(total_of(material)),
        concrete=float(total_of(line for line in material if line.item == bag)),
        holes=len(result.holes),
        machine=next((line for line in lines if line.kind == "equipment"), None),
    )


def _machine_cost(base: _Base, extra_dig: Floats, rules: Rules) -> Floats:
    """Return what the machine costs more: it stays as long as the crew digs, to the half day."""
    if base.machine is None:
        return np.zeros_like(extra_dig)
    day_hours = rules.crew_size * rules.hours_per_day
    dig = np.maximum(base.phase_hours.get("dig", 0.0) + extra_dig, 0.0)
    days = np.ceil(dig / day_hours * 2 - TINY) / 2
    return (days - float(base.machine.quantity)) * float(base.machine.unit_cost)


def _overhead(direct: Floats, hours: Floats, rules: Rules) -> Floats:
    rate = float(rules.overhead_rate)
    if rules.overhead_method == "percent_of_direct":
        return direct * rate / 100
    if rules.overhead_method == "per_labor_hour":
        return hours * rate
    return hours / (rules.crew_size * rules.hours_per_day) * rate


def _price_of(break_even: Any, risk: Risk) -> Decimal:
    """Return the price for a break-even as the estimate itself would round it."""
    price = risk.fixed_price
    if break_even > 0:
        exact = to_cents(to_decimal(float(break_even), PLACES))
        price += round_price(exact / keep_share(risk.rules), risk.rules)
    minimum = to_cents(risk.rules.minimum_charge)
    return max(price, minimum) if risk.has_work else price


def _share_below(needed: Floats, price: Decimal) -> float:
    """Return in how many per cent of the draws a price is enough, to the cent it is rounded by."""
    return 100.0 * float(np.mean(needed <= float(price) + 0.01))


def _fixed_cost(result: EstimateResult, fixed: Sequence[TypedLine], rules: Rules) -> float:
    """Return what lines with a fixed price cost, with the overhead that they bear."""
    if not fixed:
        return 0.0
    keys = {f"typed:{line.key}" for line in fixed}
    cost = float(total_of(line for line in result.cost_lines if line.item in keys))
    hours = sum(line.labor_hours for line in fixed)
    return cost + float(_overhead(np.array([cost]), np.array([hours]), rules)[0])


def _effect(row: Uncertain, cost: Floats) -> RowEffect:
    return RowEffect(
        row=row,
        mean=to_cents(to_decimal(float(np.mean(cost)), PLACES)),
        dear=to_cents(to_decimal(float(np.quantile(cost, 0.9, method="higher")), PLACES)),
        is_used=bool(np.any(cost != 0)),
    )
