"""Questions about estimates: lists of them, and one of them with everything its page shows."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from functools import partial

from django.db.models import Q, QuerySet

from estimating import mapping
from estimating.drawing.elevation import Elevation, elevations
from estimating.drawing.plan import plan_svg
from estimating.drawing.profile import views_of
from estimating.engine.bay_words import gap_words, how_it_stands
from estimating.engine.errors import EngineError
from estimating.engine.labor import DIG_AND_SET
from estimating.engine.result import (
    Bay,
    Cut,
    EstimateResult,
    Finding,
    GateLayout,
    Hole,
    Hours,
    LineLayout,
    Post,
    Quantity,
    Section,
)
from estimating.models import Estimate, EstimateLine, Proposal
from estimating.selectors.by_foot import counted_by
from estimating.selectors.by_hand import HandSetRow, as_measured, findings_shown, target_units
from estimating.selectors.concrete_ways import WayRow, comes_in_bags, way_rows
from estimating.selectors.measurements import read_document, read_with, work_out
from estimating.selectors.saw_lists import SawList, saw_lists
from estimating.selectors.site_marks import fixed_marks, utility_marks
from firm.measure import sold
from firm.measure.units import IN_PER_FT
from firm.measure.written import short_length
from firm.selectors.profile import firm_units

SEVERITIES = ("stop", "warn", "note")
PHASE_WORDS = {
    "removal": "Removal of the old fence",
    "layout": "Layout and string",
    "dig": "Digging",
    "set": "Setting posts, concrete",
    "hang": "Hanging",
    "gates": "Gates",
    "clean_up": "Set-up, spoil, clean-up",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class PostRow:
    """A post with its hole."""

    post: Post
    hole: Hole | None


@dataclass(frozen=True, kw_only=True, slots=True)
class BayRow:
    """A bay with how it stands on its ground, and the gap under it."""

    bay: Bay
    on_ground: str
    gap: str


@dataclass(frozen=True, kw_only=True, slots=True)
class LineView:
    """A line with its rows, for the page."""

    line: LineLayout
    system_name: str
    sections: tuple[Section, ...]
    bays: list[BayRow]
    gates: tuple[GateLayout, ...]
    posts: list[PostRow]
    is_ready_made: bool = False

    @property
    def fence_in(self) -> float:
        """Return the length of its bays, the gates left out."""
        return self.line.fence_ft * IN_PER_FT


@dataclass(frozen=True, kw_only=True, slots=True)
class QuantityRow:
    """An item that is bought, and by what it is counted in words."""

    quantity: Quantity
    counted_by: str


@dataclass(frozen=True, kw_only=True, slots=True)
class CutRow:
    """Pieces of one length, under the item's name."""

    cut: Cut
    name: str


@dataclass(frozen=True, kw_only=True, slots=True)
class HoursRow:
    """The hours of a phase under the words of the page, and their share of all."""

    hours: Hours
    words: str
    share_pct: float


@dataclass(frozen=True, kw_only=True, slots=True)
class EstimateView:
    """Everything the page of one estimate shows."""

    estimate: Estimate
    result: EstimateResult
    plan: str
    elevations: list[Elevation]
    findings: list[Finding]
    lines: list[LineView]
    quantities: list[QuantityRow]
    cuts: list[CutRow]
    saw_lists: list[SawList]
    concrete_ways: list[WayRow]
    concrete_in_bags: bool
    hours: list[HoursRow]
    dig_and_set_pct: float
    typed: list[EstimateLine]
    hand_set: list[HandSetRow]
    proposals: list[Proposal]
    revision_before: Estimate | None
    revision_after: Estimate | None
    is_open: bool

    @property
    def is_accepted(self) -> bool:
        """Whether the customer has signed it: what changes then is priced anew."""
        return any(each.state == Proposal.State.ACCEPTED for each in self.proposals)


@dataclass(frozen=True, kw_only=True, slots=True)
class Difference:
    """One figure as it stands and as it would be at today's prices."""

    words: str
    old: Decimal
    new: Decimal

    @property
    def change(self) -> Decimal:
        """How much it would rise, negative where it falls."""
        return self.new - self.old


def estimates(
    *, words: str = "", customer: int | None = None, site: int | None = None, state: str = ""
) -> QuerySet[Estimate]:
    """Return estimates, newest first, narrowed by number or words, customer, site and state."""
    rows = Estimate.objects.select_related("customer", "site").defer(
        "document", "catalog", "result"
    )
    if words:
        found = Q(title__icontains=words) | Q(customer__name__icontains=words)
        found |= Q(site__street__icontains=words)
        number = words.partition("-")[0]
        rows = rows.filter(found | Q(number=int(number)) if number.isdecimal() else found)
    if customer:
        rows = rows.filter(customer=customer)
    if site:
        rows = rows.filter(site=site)
    return rows.filter(state=state) if state else rows


def estimate_view(estimate: Estimate) -> EstimateView | None:
    """Return what the page of an estimate shows, or None where it was never priced."""
    result = mapping.result_of(estimate)
    if result is None:
        return None
    holes = {hole.post_number: hole for hole in result.holes}
    before, by_hand = estimate.replaces, _hand_set(estimate, result)
    findings = findings_shown(result.findings, by_hand)
    return EstimateView(
        estimate=estimate,
        result=result,
        plan=plan_svg(
            result.lines,
            title=f"Site plan of {estimate.title}",
            units=firm_units(),
            utilities=utility_marks(estimate.document),
            fixed=fixed_marks(estimate.document),
        ),
        elevations=elevations(
            result.lines,
            views_of(estimate.catalog.get("fence_systems", {})),
            depths_in={number: hole.depth_in for number, hole in holes.items()},
            units=firm_units(),
        ),
        findings=sorted(findings, key=lambda each: SEVERITIES.index(each.severity)),
        lines=[_line_view(estimate, line, holes) for line in result.lines],
        quantities=[
            QuantityRow(quantity=each, counted_by=counted_by(each.driver, firm_units()))
            for each in result.quantities
        ],
        cuts=_cut_rows(estimate, result),
        saw_lists=saw_lists(result),
        concrete_ways=way_rows(result.concrete),
        concrete_in_bags=comes_in_bags(result.concrete),
        hours=[_hours_row(hours, result.total_hours) for hours in result.hours],
        dig_and_set_pct=_share(
            sum(each.labor_hours for each in result.hours if each.phase in DIG_AND_SET),
            result.total_hours,
        ),
        typed=list(estimate.typed_lines.all()),
        hand_set=by_hand,
        proposals=list(estimate.proposals.defer("content")),
        revision_before=before,
        revision_after=Estimate.objects.filter(replaces=estimate).first(),
        is_open=estimate.state == Estimate.State.OPEN,
    )


def _line_view(estimate: Estimate, line: LineLayout, holes: dict[int, Hole]) -> LineView:
    systems = estimate.catalog.get("fence_systems", {})
    return LineView(
        line=line,
        system_name=str(systems.get(line.system, {}).get("name", line.system)),
        sections=line.sections,
        bays=_bay_rows(line, float(systems.get(line.system, {}).get("max_rack_in", 0.0))),
        gates=line.gates,
        posts=[PostRow(post=post, hole=holes.get(post.number)) for post in line.posts],
        is_ready_made=systems.get(line.system, {}).get("rails") == "fixed",
    )


def _bay_rows(line: LineLayout, max_rack_in: float) -> list[BayRow]:
    write = partial(short_length, units=firm_units())
    return [
        BayRow(
            bay=bay,
            on_ground=how_it_stands(bay, line.ground, max_rack_in, write),
            gap=gap_words(bay, write) if line.ground else "",
        )
        for bay in line.bays
    ]


def _cut_rows(estimate: Estimate, result: EstimateResult) -> list[CutRow]:
    prices = estimate.catalog.get("prices", {})
    return [
        CutRow(cut=cut, name=str(prices.get(cut.item, {}).get("name", cut.item)))
        for cut in result.cuts
    ]


def _hours_row(hours: Hours, total: float) -> HoursRow:
    return HoursRow(
        hours=hours,
        words=PHASE_WORDS[hours.phase],
        share_pct=_share(hours.labor_hours, total),
    )


def _share(part: float, whole: float) -> float:
    return 100 * part / whole if whole else 0.0


def _hand_set(estimate: Estimate, result: EstimateResult) -> list[HandSetRow]:
    rows = list(estimate.overrides.select_related("set_by"))
    if not rows:
        return []
    own = figures(estimate, _without_overrides(estimate) or result)
    words, sold_by, units = target_words(result), target_units(result), firm_units()
    return [
        HandSetRow(
            override=row,
            words=words.get(row.target) or _unused_target(estimate, row.target),
            own=own.get(row.target, "not used any more"),
            **as_measured(row, sold_by.get(row.target, ""), units),
        )
        for row in rows
    ]


def _unused_target(estimate: Estimate, target: str) -> str:
    """Name a figure that nothing uses any more by its item's name in the price book."""
    kind, _, item = target.partition(":")
    name = str(estimate.catalog.get("prices", {}).get(item, {}).get("name", item))
    return f"{kind.replace('_', ' ').capitalize()}: {name}"


def _without_overrides(estimate: Estimate) -> EstimateResult | None:
    try:
        read = read_with(estimate.document, estimate.catalog, may_lack_layout=True, leave_out=True)
        return work_out(read, typed=mapping.typed_lines(estimate.typed_lines.all()))
    except EngineError:
        return None


def figures(estimate: Estimate, result: EstimateResult) -> dict[str, str]:
    """Return the engine's figures by the targets an override can name."""
    prices, units = estimate.catalog.get("prices", {}), firm_units()
    found = {"price": f"{result.money.price_before_tax}"}
    for quantity in result.quantities:
        unit = quantity.purchase_unit
        found[f"quantity:{quantity.item}"] = sold.count_words(quantity.purchase_units, unit, units)
        cost = prices.get(quantity.item, {}).get("unit_cost")
        found[f"unit_cost:{quantity.item}"] = (
            str(sold.cost_shown(Decimal(cost), unit, units)) if cost is not None else "no price"
        )
    for hours in result.hours:
        found[f"hours:{hours.phase}"] = f"{hours.labor_hours:.2f} h"
    return found


def target_words(result: EstimateResult) -> dict[str, str]:
    """Return what can be set by hand, in words."""
    words = {"price": "Price before tax"}
    words |= {
        f"hours:{hours.phase}": f"Hours: {PHASE_WORDS[hours.phase].lower()}"
        for hours in result.hours
    }
    words |= {f"quantity:{each.item}": f"Quantity: {each.name}" for each in result.quantities}
    words |= {f"unit_cost:{each.item}": f"Unit cost: {each.name}" for each in result.quantities}
    return words


def price_differences(estimate: Estimate, *, today: dt.date) -> list[Difference]:
    """Return the money of an estimate now and at today's price book, without changing it.

    Raises:
        EngineError: the engine can't work with today's catalog or the newest measurement.
    """
    newest = estimate.measurement
    if newest:
        newest = newest.site.measurements.order_by("-version").first()
    document = newest.document if newest else estimate.document
    read = read_document(document, today=today, may_lack_layout=newest is None, leave_out=True)
    new = work_out(
        read,
        typed=mapping.typed_lines(estimate.typed_lines.all()),
        overrides=mapping.overrides(estimate.overrides.all()),
    ).money
    old_result = mapping.result_of(estimate)
    if old_result is None:
        return []
    old = old_result.money
    return [
        Difference(words=words, old=getattr(old, name), new=getattr(new, name))
        for name, words in (
            ("material", "Material"),
            ("labour", "Labour"),
            ("equipment", "Equipment"),
            ("fees", "Fees"),
            ("travel", "Travel"),
            ("typed", "Typed lines"),
            ("direct_cost", "Direct cost"),
            ("overhead", "Overhead"),
            ("price_before_tax", "Price before tax"),
            ("price", "Price"),
        )
    ]
