"""The direct cost: materials, labour, equipment, fees, travel and typed lines, to the cent."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.engine.catalog import Catalog, Override, PriceItem, Rules, TypedLine
from estimating.engine.labor import Labor
from estimating.engine.overrides import HandSet
from estimating.engine.result import Finding, Hours, Quantity
from estimating.engine.site import Conditions
from estimating.engine.sums import CostKind, CostLine
from estimating.engine.takeoff import Takeoff, missing_price
from firm.measure.money import to_cents
from firm.measure.units import to_decimal

PERCENT = Decimal(100)
HOUR_PLACES = 6  # finer than a cent of labour can show


@dataclass(frozen=True, kw_only=True, slots=True)
class DirectCost:
    """Every cost line. `fixed_lines` belong to typed lines whose price is fixed."""

    cost_lines: tuple[CostLine, ...]
    fixed_lines: tuple[CostLine, ...]
    hours: Decimal
    fixed_hours: Decimal
    findings: tuple[Finding, ...]

    @property
    def all_lines(self) -> tuple[CostLine, ...]:
        return self.cost_lines + self.fixed_lines

    def total(self, *kinds: CostKind) -> Decimal:
        """Return the sum of the lines of some kinds, or of all."""
        return total_of(each for each in self.all_lines if not kinds or each.kind in kinds)


def total_of(cost_lines: Iterable[CostLine]) -> Decimal:
    return sum((each.amount for each in cost_lines), Decimal(0))


def cost_job(
    takeoff: Takeoff,
    labor: Labor,
    catalog: Catalog,
    conditions: Conditions,
    *,
    typed: Sequence[TypedLine],
    hand_set: HandSet,
    has_holes: bool,
) -> DirectCost:
    """Return the job's direct cost. Optional typed lines stay out until they are ticked."""
    rules = catalog.rules
    materials = _material_lines(takeoff.quantities, catalog, hand_set)
    tax = to_cents(total_of(materials) * rules.purchase_tax_pct / PERCENT)
    equipment, findings = _equipment_lines(labor, catalog, conditions, hand_set)
    due = [line for line in typed if not line.is_optional]
    marked_up = [line for line in due if line.price is None]
    fixed = [line for line in due if line.price is not None]
    cost_lines = [
        *materials,
        *([_flat("tax", "purchase_tax", "Tax paid on purchases", tax)] if tax else []),
        *(_labour_line(each, rules, hand_set) for each in labor.hours),
        *equipment,
        *_fee_lines(rules, conditions, has_holes=has_holes),
        *_travel_lines(labor.trips, rules),
        *typed_cost_lines(marked_up, rules),
    ]
    fixed_hours = _typed_hours(fixed)
    phase_hours = sum(
        (to_decimal(each.labor_hours, HOUR_PLACES) for each in labor.hours), Decimal(0)
    )
    return DirectCost(
        cost_lines=tuple(cost_lines),
        fixed_lines=tuple(typed_cost_lines(fixed, rules)),
        hours=phase_hours + _typed_hours(due),
        fixed_hours=fixed_hours,
        findings=tuple(findings),
    )


def typed_cost_lines(typed: Sequence[TypedLine], rules: Rules) -> list[CostLine]:
    """Return the cost of typed lines: what is bought, and the hours that go with it."""
    cost_lines = []
    for line in typed:
        if line.unit_cost or not line.labor_hours:
            cost_lines.append(
                CostLine(
                    kind="typed",
                    item=f"typed:{line.key}",
                    description=line.description,
                    quantity=line.quantity,
                    unit=line.unit,
                    unit_cost=line.unit_cost,
                    amount=to_cents(line.quantity * line.unit_cost),
                )
            )
        if line.labor_hours:
            hours = to_decimal(line.labor_hours, HOUR_PLACES)
            cost_lines.append(
                CostLine(
                    kind="labour",
                    item=f"typed:{line.key}",
                    description=f"Labour: {line.description}",
                    quantity=hours,
                    unit="h",
                    unit_cost=rules.crew_rate,
                    amount=to_cents(hours * rules.crew_rate),
                )
            )
    return cost_lines


def _typed_hours(typed: Sequence[TypedLine]) -> Decimal:
    return sum((to_decimal(line.labor_hours, HOUR_PLACES) for line in typed), Decimal(0))


def _material_lines(
    quantities: Sequence[Quantity], catalog: Catalog, hand_set: HandSet
) -> list[CostLine]:
    return [
        _priced_line(
            "material",
            price,
            Decimal(quantity.purchase_units),
            quantity.purchase_unit,
            hand_set,
        )
        for quantity in quantities
        if (price := catalog.prices.get(quantity.item)) is not None
    ]


def _priced_line(
    kind: CostKind, price: PriceItem, quantity: Decimal, unit: str, hand_set: HandSet
) -> CostLine:
    """Return a line at the price book's cost, or at the cost that a person set."""
    set_cost = hand_set.unit_costs.get(price.key)
    unit_cost = set_cost.value if set_cost else price.unit_cost
    reasons = [each.reason for each in (hand_set.quantities.get(price.key), set_cost) if each]
    return CostLine(
        kind=kind,
        item=price.key,
        description=price.name,
        quantity=quantity,
        unit=unit,
        unit_cost=unit_cost,
        amount=to_cents(quantity * unit_cost),
        overridden=bool(reasons),
        reason="; ".join(reasons),
    )


PHASE_NAMES = {
    "removal": "Taking out the old fence",
    "layout": "Layout",
    "dig": "Digging",
    "set": "Setting posts",
    "hang": "Hanging",
    "gates": "Gates",
    "clean_up": "Set-up, spoil and clean-up",
}


def _labour_line(hours: Hours, rules: Rules, hand_set: HandSet) -> CostLine:
    override: Override | None = hand_set.hours.get(hours.phase)
    quantity = to_decimal(hours.labor_hours, HOUR_PLACES)
    return CostLine(
        kind="labour",
        item=hours.phase,
        description=PHASE_NAMES[hours.phase],
        quantity=quantity,
        unit="h",
        unit_cost=rules.crew_rate,
        amount=to_cents(quantity * rules.crew_rate),
        overridden=override is not None,
        reason=override.reason if override else "",
    )


def _equipment_lines(
    labor: Labor, catalog: Catalog, conditions: Conditions, hand_set: HandSet
) -> tuple[list[CostLine], list[Finding]]:
    if labor.equipment_days == 0:
        return [], []
    item = catalog.rules.equipment[conditions.dig_method]
    price = catalog.prices.get(item)
    if price is None:
        return [], [missing_price(item)]
    days = to_decimal(labor.equipment_days, 1)
    return [_priced_line("equipment", price, days, "day", hand_set)], []


def _fee_lines(rules: Rules, conditions: Conditions, *, has_holes: bool) -> list[CostLine]:
    permit = to_cents(Decimal(conditions.permit_fee))
    ticket = to_cents(rules.ticket_fee) if has_holes else Decimal(0)
    fees = (
        ("permit_fee", "Permit fee", permit),
        ("ticket_fee", "Locate ticket", ticket),
    )
    return [_flat("fee", item, text, amount) for item, text, amount in fees if amount]


def _travel_lines(trips: int, rules: Rules) -> list[CostLine]:
    if not trips or not rules.travel_per_trip:
        return []
    return [
        CostLine(
            kind="travel",
            item="travel",
            description="Travel",
            quantity=Decimal(trips),
            unit="trip",
            unit_cost=rules.travel_per_trip,
            amount=to_cents(trips * rules.travel_per_trip),
        )
    ]


def _flat(kind: CostKind, item: str, description: str, amount: Decimal) -> CostLine:
    return CostLine(
        kind=kind,
        item=item,
        description=description,
        quantity=Decimal(1),
        unit="each",
        unit_cost=amount,
        amount=amount,
    )
