"""The customer's price lines: parts of the price that add up to it to the cent."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.engine.catalog import FenceSystem, TypedLine
from estimating.engine.costing import DirectCost
from estimating.engine.labor import Labor
from estimating.engine.result import GateLayout, LineLayout
from estimating.engine.sums import CostLine, PriceLine
from estimating.engine.takeoff import Takeoff
from firm.measure.money import share_out, to_cents

Owner = tuple[str, str]  # the line's id, and the gate's id or nothing


@dataclass(frozen=True, kw_only=True, slots=True)
class Share:
    """One line of the price before it has an amount: its weight is the direct cost it causes."""

    key: str
    description: str
    weight: Decimal


def shares_of(
    lines: Sequence[LineLayout],
    systems: Mapping[str, FenceSystem],
    takeoff: Takeoff,
    labor: Labor,
    direct: DirectCost,
    typed: Sequence[TypedLine],
) -> list[Share]:
    """Return a share for each fence line, each gate hung and each typed line that is marked up.

    Costs that belong to the whole job, such as travel and fees, are borne by weight.
    """
    weights = _weights(takeoff, labor, direct)
    shares = []
    for line in lines:
        own = weights.get((line.line_id, ""), Decimal(0))
        shares.append(
            Share(
                key=f"line:{line.line_id}",
                description=describe_line(line, systems[line.system]),
                weight=own,
            )
        )
        if line.scope == "whole_fence":
            shares += [_gate_share(line, gate, weights) for gate in line.gates]
    return shares + [
        _typed_share(line, direct) for line in typed if line.price is None and not line.is_optional
    ]


def price_lines(
    price: Decimal, *, shares: Sequence[Share], fixed: Sequence[TypedLine]
) -> tuple[PriceLine, ...]:
    """Split a price: fixed prices stay as they are while the rest covers them."""
    fixed_lines = [
        PriceLine(
            key=f"typed:{line.key}",
            description=line.description,
            amount=to_cents(line.price or Decimal(0)),
        )
        for line in fixed
    ]
    rest = price - sum((line.amount for line in fixed_lines), Decimal(0))
    if rest < 0:
        # The price was set by hand below the fixed prices: then every line gives way.
        every = [
            *shares,
            *(Share(key=f.key, description=f.description, weight=f.amount) for f in fixed_lines),
        ]
        return _split(price, every)
    if not shares and rest > 0:
        difference = Share(
            key="difference", description="Call-out and small job charge", weight=Decimal(1)
        )
        return (*fixed_lines, *_split(rest, [difference]))
    return (*_split(rest, shares), *fixed_lines)


def describe_line(line: LineLayout, system: FenceSystem) -> str:
    """Return what the customer gets on a line, in words."""
    name = line.name or f"Line {line.line_id}"
    feet = f"{line.fence_ft:,.1f} ft"
    if line.scope == "removal":
        return f"{name}: taking out {feet} of old fence{_old_footings(line.old_footings)}"
    if line.scope == "posts_only":
        return f"{name}: posts only for {feet} of {system.name}"
    return f"{name}: {feet} of {system.name}"


def _old_footings(count: int) -> str:
    if not count:
        return ""
    return " and 1 old footing" if count == 1 else f" and {count} old footings"


def _split(amount: Decimal, shares: Sequence[Share]) -> tuple[PriceLine, ...]:
    parts = share_out(amount, [share.weight for share in shares])
    return tuple(
        PriceLine(key=share.key, description=share.description, amount=part)
        for share, part in zip(shares, parts, strict=True)
    )


def _gate_share(line: LineLayout, gate: GateLayout, weights: Mapping[Owner, Decimal]) -> Share:
    leaves = "one leaf" if gate.leaves == 1 else f"{gate.leaves} leaves"
    if gate.kind == "slide":
        leaves = "slides"
    return Share(
        key=f"gate:{line.line_id}:{gate.id}",
        description=f"Gate {gate.id}: {gate.clear_opening_in:g} in clear opening, {leaves}",
        weight=weights.get((line.line_id, gate.id), Decimal(0)),
    )


def _typed_share(line: TypedLine, direct: DirectCost) -> Share:
    key = f"typed:{line.key}"
    cost = sum((each.amount for each in direct.cost_lines if each.item == key), Decimal(0))
    return Share(key=key, description=line.description, weight=cost)


def _weights(takeoff: Takeoff, labor: Labor, direct: DirectCost) -> dict[Owner, Decimal]:
    """Return the material and labour that each line and each gate causes."""
    causes: dict[tuple[str, str], list[tuple[Owner, float]]] = {}
    for need in takeoff.needs:
        owner = (need.line_id, need.gate_id)
        causes.setdefault(("material", need.item), []).append((owner, need.amount))
    for work in labor.works:
        if work.line_id:
            owner = (work.line_id, work.gate_id)
            causes.setdefault(("labour", work.phase), []).append((owner, work.labor_hours))
    weights: dict[Owner, Decimal] = {}
    for cost in direct.cost_lines:
        _add_cost(weights, cost, causes.get((cost.kind, cost.item), []))
    return weights


def _add_cost(
    weights: dict[Owner, Decimal], cost: CostLine, causes: Sequence[tuple[Owner, float]]
) -> None:
    total = sum(amount for _, amount in causes)
    if total <= 0:
        return
    for owner, amount in causes:
        part = cost.amount * Decimal(str(amount / total))
        weights[owner] = weights.get(owner, Decimal(0)) + part
