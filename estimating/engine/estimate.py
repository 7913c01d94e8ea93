"""The one way into the engine: a measured site and a catalog in, a whole estimate out."""

from collections.abc import Sequence
from dataclasses import replace

from estimating.engine import (
    concrete_ways,
    costing,
    footings,
    job_findings,
    labor,
    overrides,
    pace,
    place_findings,
    price_lines,
    pricing,
    takeoff,
)
from estimating.engine.catalog import Catalog, Override, TypedLine
from estimating.engine.cutting import cuts_by_material
from estimating.engine.layout import lay_out
from estimating.engine.post_lengths import with_long_enough_posts
from estimating.engine.result import EstimateResult, Finding, LineLayout
from estimating.engine.site import Conditions, Site
from estimating.engine.stock_plans import plan_stock
from estimating.engine.trace import Step


def estimate(
    site: Site,
    catalog: Catalog,
    *,
    typed: Sequence[TypedLine] = (),
    overrides: Sequence[Override] = (),
) -> EstimateResult:
    """Estimate a site: layout, holes, quantities, hours, money and findings.

    A layout that breaks a rule still gets its figures, with a finding that says so.

    Raises:
        EngineError: a figure can't be worked with at all; the error names its field.
    """
    layout = lay_out(site, catalog)
    result = estimate_lines(
        layout.lines, catalog, site.conditions, typed=typed, hand_set_figures=overrides
    )
    return replace(result, findings=(*layout.findings, *result.findings))


def estimate_lines(
    lines: Sequence[LineLayout],
    catalog: Catalog,
    conditions: Conditions,
    *,
    typed: Sequence[TypedLine] = (),
    hand_set_figures: Sequence[Override] = (),
) -> EstimateResult:
    """Estimate lines that are laid out already."""
    hand_set = overrides.sort_overrides(hand_set_figures)
    conditions, unfit = pace.with_method_that_fits(conditions, catalog.rates)
    lines = with_long_enough_posts(lines, catalog, conditions)
    costs = {item: each.value for item, each in hand_set.unit_costs.items()}
    dug = concrete_ways.with_way(
        footings.dig(lines, catalog, conditions), catalog, conditions, costs
    )
    cuts = cuts_by_material(lines, catalog.systems, catalog.prices)
    stock = plan_stock(cuts, catalog, costs)
    taken = _with_hand_set(takeoff.take_off(lines, catalog, dug, stock), hand_set)
    worked = labor.work_out(
        lines, catalog, conditions, dug, hand_set=hand_set.hours_by_phase, has_typed=bool(typed)
    )
    direct = costing.cost_job(
        taken,
        worked,
        catalog,
        conditions,
        typed=typed,
        hand_set=hand_set,
        has_holes=bool(dug.post_holes),
    )
    shares = price_lines.shares_of(lines, catalog.systems, taken, worked, direct, typed)
    priced = pricing.price_job(
        direct,
        catalog.rules,
        shares=shares,
        typed=typed,
        fence_ft=sum(line.fence_ft for line in lines if line.scope != "removal"),
        set_price=hand_set.price,
    )
    names = {each.item: each.description for each in direct.cost_lines}
    findings: list[Finding] = [
        *dug.findings,
        *stock.findings,
        *taken.findings,
        *unfit,
        *worked.findings,
        *direct.findings,
        *job_findings.find(lines, catalog, conditions, dug, worked),
        *place_findings.find(lines, catalog, conditions, dug),
        *overrides.override_findings(hand_set_figures, names),
        *priced.findings,
    ]
    return EstimateResult(
        lines=lines,
        holes=dug.holes,
        concrete=dug.concrete,
        quantities=taken.quantities,
        cuts=tuple(cut for each in cuts for cut in each.cuts),
        cut_plans=stock.plans,
        hours=worked.hours,
        total_hours=float(direct.hours),
        equipment_days=worked.equipment_days,
        trips=worked.trips,
        cost_lines=direct.all_lines,
        price_lines=priced.price_lines,
        options=priced.options,
        money=priced.money,
        findings=tuple(findings),
    )


def _with_hand_set(taken: takeoff.Takeoff, hand_set: overrides.HandSet) -> takeoff.Takeoff:
    """Return the take-off with the purchase quantities that a person set."""
    return replace(
        taken,
        quantities=tuple(
            replace(
                each,
                purchase_units=int(override.value),
                trace=(*each.trace, Step(rule="set by hand", inputs=override.reason)),
            )
            if (override := hand_set.quantities.get(each.item)) is not None
            else each
            for each in taken.quantities
        ),
    )
