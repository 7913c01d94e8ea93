"""What a job will have cost and what it leaves, from its estimate, its hours and its receipts.

A phase counted in units is forecast at its own rate: actual + remaining units x actual for one
unit. Every other phase, and every kind of cost, is forecast as the greater of actual and estimate
until it is finished, and as the actual then (job costing practice: forecast at completion by kind
of unit; layout, set-up and travel are no unit rates and stay apart. Common practice, no source).
Where nothing at all was written down, the estimate counts even when the work is finished.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from firm.measure.money import CENT, format_money, share_out, to_cents
from scheduling.engine.margin_facts import (
    LABOUR,
    MATERIAL,
    MINUTES_IN_HOUR,
    NOTHING,
    PERCENT,
    BagFacts,
    FirmRule,
    JobFacts,
    KindFacts,
    PhaseFacts,
    Triple,
    sum_of,
)

WHOLE = Decimal(1)
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, kw_only=True, slots=True)
class PhaseMargin:
    """One phase in minutes of work and in money, and how its forecast was found."""

    key: str
    name: str
    minutes: Triple
    cost: Triple
    basis: str

    @property
    def hours(self) -> Triple:
        """The hours, of people."""
        return _hours(self.minutes)


@dataclass(frozen=True, kw_only=True, slots=True)
class KindMargin:
    """One kind of direct cost, and how its forecast was found."""

    key: str
    name: str
    cost: Triple
    basis: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Margin:
    """A job's margin. Phases add up to labour, kinds to direct cost.

    Price - direct cost - overhead - commission = margin, in each of the three.
    """

    price: Decimal
    phases: tuple[PhaseMargin, ...]
    kinds: tuple[KindMargin, ...]
    minutes: Triple
    labour: Triple
    direct_cost: Triple
    overhead: Triple
    commission: Decimal
    margin: Triple
    crew_days: Triple | None
    moved_by: str

    @property
    def hours(self) -> Triple:
        """The hours of the whole job, of people."""
        return _hours(self.minutes)

    @property
    def gross(self) -> Triple:
        """What the price leaves over direct cost, before overhead and commission."""
        return _left_of(self.price, self.direct_cost)

    @property
    def pct(self) -> Triple | None:
        """The margin as a part of the price; None without a price."""
        if not self.price:
            return None
        return self.margin.each(lambda part: part / self.price * PERCENT)

    @property
    def per_crew_day(self) -> Triple | None:
        """The margin for each day of the whole crew; None where no such day is known."""
        return self._by_crew_days(self.margin)

    @property
    def gross_per_crew_day(self) -> Triple | None:
        """What is left over direct cost for each day of the whole crew."""
        return self._by_crew_days(self.gross)

    def _by_crew_days(self, money: Triple) -> Triple | None:
        if self.crew_days is None or not (self.crew_days.estimated and self.crew_days.forecast):
            return None
        pairs = zip(money.parts, self.crew_days.parts, strict=True)
        estimated, actual, forecast = (
            to_cents(part / days) if days else NOTHING for part, days in pairs
        )
        return Triple(estimated=estimated, actual=actual, forecast=forecast)


def margin_of(job: JobFacts) -> Margin:
    """Return a job's margin as estimated, so far, and as forecast at its end."""
    phases = _phases(job)
    labour = sum_of([each.cost for each in phases])
    minutes = sum_of([each.minutes for each in phases])
    kinds = (_labour_kind(labour), *_other_kinds(job))
    direct = sum_of([each.cost for each in kinds])
    overhead = _overhead(job, direct=direct, minutes=minutes)
    commission = job.commission + _commission_on(job.changes.price, job.rule)
    price = job.price + job.changes.price
    break_even = sum_of([direct, overhead, _same(commission)])
    return Margin(
        price=price,
        phases=phases,
        kinds=kinds,
        minutes=minutes,
        labour=labour,
        direct_cost=direct,
        overhead=overhead,
        commission=commission,
        margin=_left_of(price, break_even),
        crew_days=_crew_days(minutes, job.rule),
        moved_by=_moved_by(phases, kinds, job.rule),
    )


def spread_minutes(minutes: int, weights: Sequence[Decimal]) -> list[int]:
    """Share minutes out by weight; nothing is lost, the largest remainders get what is left."""
    shares = share_out(minutes * CENT, weights)
    return [int(share / CENT) for share in shares]


def _phases(job: JobFacts) -> tuple[PhaseMargin, ...]:
    """Return the phases; the hours of signed changes go to them as their sold hours do."""
    has_hours = any(phase.worked_min for phase in job.phases)
    weights = [phase.sold_hours for phase in job.phases]
    more_hours = [share_out(job.changes.hours, weights), share_out(_change_labour(job), weights)]
    return tuple(
        _phase(phase, hours=hours, cost=cost, has_hours=has_hours, is_over=job.is_finished)
        for phase, hours, cost in zip(job.phases, *more_hours, strict=True)
    )


def _change_labour(job: JobFacts) -> Decimal:
    if job.rule is None or not job.phases:
        return NOTHING
    return to_cents(job.changes.hours * job.rule.crew_rate)


def _phase(
    phase: PhaseFacts, *, hours: Decimal, cost: Decimal, has_hours: bool, is_over: bool
) -> PhaseMargin:
    sold_min = (phase.sold_hours + hours) * MINUTES_IN_HOUR
    sold_cost = phase.sold_cost + cost
    worked_min = Decimal(phase.worked_min)
    forecast_min, forecast_cost, basis = _phase_forecast(
        phase, sold_min, sold_cost, has_hours=has_hours, is_over=is_over
    )
    return PhaseMargin(
        key=phase.key,
        name=phase.name,
        minutes=Triple(estimated=sold_min, actual=worked_min, forecast=forecast_min),
        cost=Triple(estimated=sold_cost, actual=phase.worked_cost, forecast=forecast_cost),
        basis=basis,
    )


def _phase_forecast(
    phase: PhaseFacts, sold_min: Decimal, sold_cost: Decimal, *, has_hours: bool, is_over: bool
) -> tuple[Decimal, Decimal, str]:
    """Return minutes and cost at the end, and in words how they were found."""
    worked_min, worked_cost = Decimal(phase.worked_min), phase.worked_cost
    if phase.is_finished or is_over:
        if has_hours:
            return worked_min, worked_cost, "Finished: what it took."
        return sold_min, sold_cost, "Finished, but no hours are written down: the estimate counts."
    units = phase.units
    if units is not None and phase.worked_min and units.done:
        left = max(0, units.planned - units.done)
        minutes = worked_min + left * worked_min / units.done
        cost = worked_cost + left * worked_cost / units.done
        basis = f"{units.done} of {units.planned} {units.name}; the other {left} at the same rate."
        if not left:
            basis = f"All {units.planned} {units.name}: what it took."
        return minutes.quantize(WHOLE, rounding=ROUND_HALF_UP), to_cents(cost), basis
    basis = "The estimate, until it is finished."
    if worked_min > sold_min or worked_cost > sold_cost:
        basis = "Over its estimate already, and not finished."
    return max(sold_min, worked_min), max(sold_cost, worked_cost), basis


def _labour_kind(labour: Triple) -> KindMargin:
    return KindMargin(key=LABOUR, name="Labour", cost=labour, basis="The phases above together.")


def _other_kinds(job: JobFacts) -> list[KindMargin]:
    """Return the kinds beside labour; what changes cost beside their hours is material."""
    more_material = job.changes.direct_cost - _change_labour(job)
    return [
        _kind(
            kind,
            sold=kind.sold + (more_material if kind.key == MATERIAL else NOTHING),
            more_bags=_more_bags(job.bags) if kind.key == MATERIAL else 0,
            bag_cost=job.bags.cost_of_one if job.bags else NOTHING,
            is_over=job.is_finished,
        )
        for kind in job.kinds
    ]


def _kind(
    kind: KindFacts, *, sold: Decimal, more_bags: int, bag_cost: Decimal, is_over: bool
) -> KindMargin:
    """Forecast one kind: bags over the plan count until the receipts come to more."""
    spent = sum(kind.receipts, NOTHING)
    expected = sold + to_cents(more_bags * bag_cost)
    forecast, basis = expected, "The estimate, until the job is finished."
    if more_bags:
        basis = f"The estimate and {more_bags} more bags than planned, at {format_money(bag_cost)}."
    if kind.receipts and is_over:
        forecast, basis = spent, "Finished: the receipts."
    elif spent > expected:
        forecast, basis = spent, "The receipts: they are over the estimate already."
    elif is_over:
        basis = "Finished without a receipt of this kind: " + basis[0].lower() + basis[1:]
        basis = basis.replace(", until the job is finished", "")
    return KindMargin(
        key=kind.key,
        name=kind.name,
        cost=Triple(estimated=sold, actual=spent, forecast=forecast),
        basis=basis,
    )


def _more_bags(bags: BagFacts | None) -> int:
    """Return the bags over the plan at the end: used, and the rest at the same rate a post."""
    if bags is None or not bags.used:
        return 0
    in_the_end = bags.used + (bags.left * bags.used / bags.done if bags.done else NOTHING)
    more = (in_the_end - bags.planned).to_integral_value(rounding="ROUND_CEILING")
    return max(0, int(more))


def _overhead(job: JobFacts, *, direct: Triple, minutes: Triple) -> Triple:
    """Return the overhead: as it was sold, and by the same method on what was really used."""
    rule = job.rule
    if rule is None:
        return _same(job.overhead)
    more = overhead_on(job.changes.direct_cost, job.changes.hours, rule)
    hours = _hours(minutes)
    return Triple(
        estimated=job.overhead + more,
        actual=overhead_on(direct.actual, hours.actual, rule),
        forecast=overhead_on(direct.forecast, hours.forecast, rule),
    )


def overhead_on(direct_cost: Decimal, hours: Decimal, rule: FirmRule) -> Decimal:
    """Return the overhead that a cost or its hours carry, as the firm prices it."""
    if rule.overhead_method == "percent_of_direct":
        return to_cents(direct_cost * rule.overhead_rate / PERCENT)
    if rule.overhead_method == "per_labor_hour":
        return to_cents(hours * rule.overhead_rate)
    return to_cents(hours / _hours_of_crew_day(rule) * rule.overhead_rate)


def _hours_of_crew_day(rule: FirmRule) -> Decimal:
    return rule.crew_size * rule.hours_per_day


def _commission_on(price: Decimal, rule: FirmRule | None) -> Decimal:
    return to_cents(price * rule.commission_pct / PERCENT) if rule else NOTHING


def _crew_days(minutes: Triple, rule: FirmRule | None) -> Triple | None:
    if rule is None:
        return None
    minutes_of_day = MINUTES_IN_HOUR * _hours_of_crew_day(rule)
    return minutes.each(lambda part: part / minutes_of_day)


def _moved_by(
    phases: Sequence[PhaseMargin], kinds: Sequence[KindMargin], rule: FirmRule | None
) -> str:
    """Say what moved the margin most: a phase of labour, or another kind of cost.

    Each counts with the overhead that its hours or its cost carry by the firm's method.
    """
    rows: list[PhaseMargin | KindMargin] = [*phases, *(k for k in kinds if k.key != LABOUR)]
    most = max(rows, key=lambda row: abs(_moved_with_overhead(row, rule)))
    moved = _moved_with_overhead(most, rule)
    if not moved:
        return "Nothing has moved the margin so far."
    by, more = format_money(abs(moved)), "more" if moved > 0 else "less"
    said = f"{most.name} costs {by} {more} than estimated"
    if moved != most.cost.moved:
        said += ", with the overhead it carries"
    if isinstance(most, KindMargin):
        forecast, estimated = most.cost.forecast, most.cost.estimated
        return f"{said}: {format_money(forecast)} instead of {format_money(estimated)}."
    at_end, before = hour_words(most.hours.forecast), hour_words(most.hours.estimated)
    if at_end == before:
        return f"{said}: {at_end} h as estimated, at another rate."
    return f"{said}: {at_end} h instead of {before} h."


def _moved_with_overhead(row: PhaseMargin | KindMargin, rule: FirmRule | None) -> Decimal:
    if rule is None:
        return row.cost.moved
    hours = row.hours if isinstance(row, PhaseMargin) else Triple()
    at_end = overhead_on(row.cost.forecast, hours.forecast, rule)
    return row.cost.moved + at_end - overhead_on(row.cost.estimated, hours.estimated, rule)


def hour_words(hours: Decimal) -> str:
    """Return hours to the hundredth, without needless noughts: '9.5', '6.33', '10'."""
    return f"{hours.quantize(HUNDREDTH, rounding=ROUND_HALF_UP):f}".rstrip("0").rstrip(".")


def _same(value: Decimal) -> Triple:
    return Triple(estimated=value, actual=value, forecast=value)


def _hours(minutes: Triple) -> Triple:
    return minutes.each(lambda part: part / MINUTES_IN_HOUR)


def _left_of(price: Decimal, cost: Triple) -> Triple:
    return cost.each(lambda part: price - part)
