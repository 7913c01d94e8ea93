"""The saw list: what the stock lengths of a job are cut into, and how many of each are needed."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from estimating.engine.catalog import Catalog, Material, PriceItem, Rules
from estimating.engine.cutting import MaterialCuts
from estimating.engine.result import Cut, Finding
from estimating.engine.saw_plan import CutBar, CutPiece, CutPlan
from estimating.engine.stock.cutting import Bar, CuttingJob, Stock, cost_of, job_of
from estimating.engine.stock.first_fit import first_fit
from estimating.engine.stock.plan import plan_cuts
from firm.measure.lengths import format_in
from firm.measure.money import to_cents

PER_IN = 16
COST_STEP = Decimal("0.0001")  # of a dollar, as the price book keeps it
SAME_PLACE = 1 / 64

Key = tuple[str, tuple[str, ...], float]


@dataclass(frozen=True, kw_only=True, slots=True)
class CutFrom:
    """What all plans cut from one item: bars, the pieces they give and the pieces' length."""

    bars: int
    pieces: int
    length_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class StockPlans:
    """The plans of a job, by what is cut and from what."""

    by_key: Mapping[Key, CutPlan] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()

    @property
    def plans(self) -> tuple[CutPlan, ...]:
        return tuple(self.by_key.values())

    def plan_of(self, material: Material, rules: Rules) -> CutPlan | None:
        """Return the plan that a material's pieces are in."""
        return self.by_key.get(_key(material, rules)) if material.cut else None

    def cut_from(self, item: str) -> CutFrom | None:
        """Return what is cut from an item, or None where nothing is."""
        bars = [bar for plan in self.plans for bar in plan.bars if bar.item == item]
        if not bars:
            return None
        pieces = [(piece, bar.bars) for bar in bars for piece in bar.pieces]
        return CutFrom(
            bars=sum(bar.bars for bar in bars),
            pieces=sum(piece.pieces * times for piece, times in pieces),
            length_in=sum(piece.length_in * piece.pieces * times for piece, times in pieces),
        )


NO_PLANS = StockPlans()


def plan_stock(
    cuts: Sequence[MaterialCuts], catalog: Catalog, costs: Mapping[str, Decimal]
) -> StockPlans:
    """Plan the cuts of every material whose item has a stock length.

    `costs` are unit costs that a person set, by item. A piece longer than any stock is a finding,
    and counts as one whole bar.
    """
    wanted: dict[Key, list[Cut]] = {}
    for each in cuts:
        if each.cuts and _is_planned(each.material, catalog):
            wanted.setdefault(_key(each.material, catalog.rules), []).extend(each.cuts)
    plans: dict[Key, CutPlan] = {}
    findings: list[Finding] = []
    for key, rows in wanted.items():
        stocks = _stocks(key, catalog)
        longest_in = max(length_in for _, length_in in stocks)
        findings += [
            _too_long(cut, longest_in) for cut in rows if cut.length_in > longest_in + SAME_PLACE
        ]
        pieces = [(min(cut.length_in, longest_in), cut.pieces) for cut in rows]
        plans[key] = _plan(key, pieces, stocks, catalog.rules, costs)
    return StockPlans(by_key=plans, findings=tuple(findings))


def bars_in_unit(price: PriceItem) -> float:
    """Return how many bars one purchase unit holds: a coil counted by the foot is one."""
    return 1.0 if price.unit == "ft" else price.pack


def _is_planned(material: Material, catalog: Catalog) -> bool:
    price = catalog.prices.get(material.item)
    has_length = price is not None and price.stock_length_in is not None
    return has_length and material.cut not in ("", "bay_board")


def _key(material: Material, rules: Rules) -> Key:
    kerf_in = rules.saw_kerf_in if material.kerf_in is None else material.kerf_in
    return material.item, material.other_lengths, kerf_in


def _stocks(key: Key, catalog: Catalog) -> list[tuple[PriceItem, float]]:
    """Return the items to cut from with their lengths; one that is out of use is left out."""
    prices = [catalog.prices.get(item) for item in dict.fromkeys((key[0], *key[1]))]
    return [(each, each.stock_length_in) for each in prices if each and each.stock_length_in]


def _plan(
    key: Key,
    pieces: Iterable[tuple[float, int]],
    stocks: Sequence[tuple[PriceItem, float]],
    rules: Rules,
    costs: Mapping[str, Decimal],
) -> CutPlan:
    job = job_of(
        [(_sixteenths(length_in), count) for length_in, count in pieces],
        [
            Stock(
                key=price.key,
                length=_sixteenths(length_in),
                cost=_bar_cost(price, costs),
            )
            for price, length_in in stocks
        ],
        kerf=_sixteenths(key[2]),
        keep_from=_sixteenths(rules.keep_offcut_in),
    )
    plan, fitted = plan_cuts(job), first_fit(job)
    return CutPlan(
        item=key[0],
        items=tuple(price.key for price, _ in stocks),
        kerf_in=key[2],
        keep_from_in=rules.keep_offcut_in,
        bars=tuple(_cut_bar(job, bar, count) for bar, count in Counter(plan.bars).items()),
        cost=_dollars(plan.cost),
        least_cost=_dollars(plan.least_cost),
        is_proven=plan.is_proven,
        first_fit_cost=_dollars(cost_of(job, fitted)),
        first_fit_bars=len(fitted),
    )


def _cut_bar(job: CuttingJob, bar: Bar, count: int) -> CutBar:
    stock, offcut = job.stocks[bar.stock], job.offcut(bar)
    return CutBar(
        item=stock.key,
        stock_length_in=stock.length / PER_IN,
        bars=count,
        pieces=tuple(
            CutPiece(length_in=length / PER_IN, pieces=n)
            for (length, _), n in zip(job.pieces, bar.counts, strict=True)
            if n
        ),
        offcut_in=offcut / PER_IN,
        is_kept=offcut > 0 and offcut >= job.keep_from,
    )


def _bar_cost(price: PriceItem, costs: Mapping[str, Decimal]) -> int:
    unit_cost = costs.get(price.key, price.unit_cost)
    return round(unit_cost / Decimal(str(bars_in_unit(price))) / COST_STEP)


def _dollars(cost: int) -> Decimal:
    return to_cents(cost * COST_STEP)


def _sixteenths(inches: float) -> int:
    return round(inches * PER_IN)


def _too_long(cut: Cut, longest_in: float) -> Finding:
    return Finding(
        code="piece-longer-than-stock",
        severity="stop",
        message=f"A piece of {cut.item} is longer than any length it is sold in.",
        place=cut.place,
        figure=format_in(cut.length_in),
        limit=format_in(longest_in),
        action=(
            "Name a longer item among the material's other lengths, or check the bay and the "
            "item's stock length. Until then it counts as one whole length."
        ),
    )
