"""What was sold: an accepted proposal as the job that follows from it needs to know it."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimating import mapping
from estimating.drawing.plan import plan_svg
from estimating.engine.catalog import Rules, TypedLine
from estimating.engine.costing import PERCENT, total_of, typed_cost_lines
from estimating.engine.labor import PHASES
from estimating.engine.pricing import overhead_for
from estimating.engine.reading import read_catalog
from estimating.engine.result import LineLayout
from estimating.engine.sums import CostLine
from estimating.models import Acceptance, Estimate
from estimating.selectors.site_marks import fixed_marks, utility_marks
from firm.measure.money import to_cents
from firm.selectors.profile import firm_units

Json = Mapping[str, Any]
NOTHING = Decimal(0)
# Hours that belong to no phase of building: lines the office typed.
EXTRA = "extra"


@dataclass(frozen=True, kw_only=True, slots=True)
class PhaseWork:
    """The labour sold in one phase, at the crew rate the estimate was priced with."""

    phase: str
    labor_hours: Decimal
    labour_cost: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class AcceptedWork:
    """An accepted proposal with the options that were chosen: its money and its hours.

    `total` is what the customer signed for: `price_before_tax` and `sales_tax` together.
    """

    proposal_id: int
    number: int
    revision: int
    title: str
    customer_id: int
    site_id: int | None
    accepted_at: dt.datetime
    cancellation_ends_at: dt.datetime
    total: Decimal
    price_before_tax: Decimal
    sales_tax: Decimal
    direct_cost: Decimal
    overhead: Decimal
    commission: Decimal
    phases: tuple[PhaseWork, ...]


def accepted_work(proposal_id: int) -> AcceptedWork | None:
    """Return what was sold with a proposal, or None while it is not accepted."""
    acceptance = (
        Acceptance.objects.filter(proposal=proposal_id).select_related("proposal__estimate").first()
    )
    if acceptance is None:
        return None
    estimate = acceptance.proposal.estimate
    before_tax = acceptance.proposal.price - acceptance.proposal.sales_tax
    before_tax += _options_before_tax(estimate, acceptance)
    chosen = _chosen_lines(estimate, acceptance)
    cost = _Cost.of(estimate, chosen)
    return AcceptedWork(
        proposal_id=proposal_id,
        number=estimate.number,
        revision=estimate.revision,
        title=estimate.title,
        customer_id=estimate.customer_id,
        site_id=estimate.site_id,
        accepted_at=acceptance.accepted_at,
        cancellation_ends_at=acceptance.cancellation_ends_at,
        total=acceptance.total,
        price_before_tax=before_tax,
        sales_tax=acceptance.total - before_tax,
        direct_cost=cost.direct_cost,
        overhead=cost.overhead,
        commission=cost.commission(before_tax),
        phases=_phases(cost.labour),
    )


def accepted_plan(proposal_id: int) -> str:
    """Return the plan that was sold as SVG, or "" for work without a layout."""
    estimate = Estimate.objects.filter(proposals=proposal_id, proposals__acceptance__isnull=False)
    document, result = estimate.values_list("document", "result").first() or ({}, {})
    lines = [mapping.from_plain(LineLayout, line) for line in result.get("lines", ())]
    return plan_svg(
        lines,
        title="Site plan",
        units=firm_units(),
        utilities=utility_marks(document),
        fixed=fixed_marks(document),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Cost:
    """The cost of an estimate with the chosen options; `labour` are its lines of hours."""

    direct_cost: Decimal
    overhead: Decimal
    commission_pct: Decimal
    labour: tuple[CostLine, ...]

    @classmethod
    def of(cls, estimate: Estimate, chosen: Sequence[TypedLine]) -> "_Cost":
        """Return the cost as it was frozen; options bear overhead as they do in their price."""
        money = estimate.result.get("money") or {}
        rules = _rules(estimate)
        lines = [
            mapping.from_plain(CostLine, line) for line in estimate.result.get("cost_lines", ())
        ]
        direct_cost = _amount(money, "direct_cost")
        overhead = _amount(money, "overhead")
        if rules is not None and chosen:
            added = typed_cost_lines(chosen, rules)
            lines += added
            direct_cost += total_of(added)
            hours = sum((each.quantity for each in lines if each.kind == "labour"), NOTHING)
            overhead = overhead_for(direct_cost, hours, rules)
        return cls(
            direct_cost=direct_cost,
            overhead=overhead,
            commission_pct=rules.commission_pct if rules else NOTHING,
            labour=tuple(each for each in lines if each.kind == "labour"),
        )

    def commission(self, price_before_tax: Decimal) -> Decimal:
        return to_cents(price_before_tax * self.commission_pct / PERCENT)


def _rules(estimate: Estimate) -> Rules | None:
    """Return the firm's rules as they were when the estimate was priced."""
    frozen = estimate.catalog.get("rules")
    return read_catalog({"rules": frozen}).rules if frozen else None


def _options_before_tax(estimate: Estimate, acceptance: Acceptance) -> Decimal:
    keys = {option["key"] for option in acceptance.options}
    offered = estimate.result.get("options", ())
    return sum((_amount(each, "amount") for each in offered if each["key"] in keys), NOTHING)


def _chosen_lines(estimate: Estimate, acceptance: Acceptance) -> list[TypedLine]:
    keys = {option["key"] for option in acceptance.options}
    if not keys:
        return []
    lines = mapping.typed_lines(estimate.typed_lines.filter(is_optional=True))
    return [line for line in lines if line.key in keys]


def _phases(labour: Sequence[CostLine]) -> tuple[PhaseWork, ...]:
    """Return the phases in the order they are worked, what the office typed last."""
    return tuple(
        PhaseWork(
            phase=phase,
            labor_hours=sum((each.quantity for each in rows), NOTHING),
            labour_cost=total_of(rows),
        )
        for phase in (*PHASES, EXTRA)
        if (rows := [each for each in labour if _phase_of(each) == phase])
    )


def _phase_of(line: CostLine) -> str:
    return line.item if line.item in PHASES else EXTRA


def _amount(data: Json, name: str) -> Decimal:
    return Decimal(str(data.get(name, 0)))
