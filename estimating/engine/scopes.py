"""One site in several scopes side by side: whole fence, posts only, materials only, removal."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from estimating.engine.catalog import Catalog, Override, TypedLine
from estimating.engine.estimate import estimate
from estimating.engine.goods import GoodsSale, sell_goods
from estimating.engine.labor import DIG_AND_SET
from estimating.engine.overrides import that_still_fit
from estimating.engine.result import EstimateResult, Finding
from estimating.engine.site import Scope, Site
from estimating.engine.sums import CostLine
from firm.measure.units import to_decimal

ScopeKey = Literal["estimated", "whole_fence", "posts_only", "materials_only", "removal_only"]
BUILT: tuple[Scope, ...] = ("whole_fence", "posts_only")


@dataclass(frozen=True, kw_only=True, slots=True)
class SelfBuilt:
    """What falls to the customer in a scope that leaves work out, against the whole fence.

    `material` is what is still bought, as the firm would sell it delivered; None where the firm
    sells no goods. `hours` are those of a practised crew. `saves` is what is left of the
    difference in price after that material; `saves_cost` the direct cost that falls away for the
    firm when the customer buys it at the firm's own cost.
    """

    material: GoodsSale | None
    hours: float
    saves: Decimal | None
    saves_cost: Decimal
    whole_price: Decimal

    @property
    def saves_pct(self) -> Decimal | None:
        """The saving in per cent of the whole fence's price."""
        if self.saves is None or not self.whole_price:
            return None
        return 100 * self.saves / self.whole_price

    @property
    def saves_per_hour(self) -> Decimal | None:
        """The saving for each hour of the customer's own work."""
        if self.saves is None or self.hours <= 0:
            return None
        return self.saves / to_decimal(self.hours, 6)


@dataclass(frozen=True, kw_only=True, slots=True)
class ScopePrice:
    """One scope's figures. `hours` are labour hours; `set_hours` those until the posts stand."""

    key: ScopeKey
    posts: int
    bays: int
    gates: int
    hours: float
    set_hours: float
    direct_cost: Decimal
    margin: Decimal
    price_before_tax: Decimal
    sales_tax: Decimal
    price: Decimal
    goods: GoodsSale | None = None
    self_built: SelfBuilt | None = None
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class _Job:
    """The site as estimated, once without the figures set by hand and once with them."""

    site: Site
    catalog: Catalog
    typed: tuple[TypedLine, ...]
    overrides: tuple[Override, ...]
    bare: EstimateResult
    result: EstimateResult

    def scoped(self, site: Site, typed: Sequence[TypedLine]) -> EstimateResult:
        """Estimate another scope with the figures set by hand that hold for it too."""
        bare = estimate(site, self.catalog, typed=typed)
        kept = that_still_fit(self.overrides, self.bare, bare)
        return estimate(site, self.catalog, typed=typed, overrides=kept) if kept else bare


def compare_scopes(
    site: Site,
    catalog: Catalog,
    *,
    typed: Sequence[TypedLine] = (),
    overrides: Sequence[Override] = (),
) -> tuple[ScopePrice, ...]:
    """Return the site's scopes side by side, in the order they are read; none without a line.

    Typed lines count where posts are set, for they are work on the site: not in a sale of
    goods and not in a removal alone.

    Raises:
        EngineError: the site can't be worked with.
    """
    if not site.lines:
        return ()
    job = _Job(
        site=site,
        catalog=catalog,
        typed=tuple(typed),
        overrides=tuple(overrides),
        bare=estimate(site, catalog, typed=typed),
        result=estimate(site, catalog, typed=typed, overrides=overrides),
    )
    as_estimated = () if _is_whole(site) else (_priced("estimated", job.result),)
    return (*as_estimated, *_built(job), *_removal(job))


def _is_whole(site: Site) -> bool:
    return all(line.scope == "whole_fence" for line in site.lines)


def _with_scope(site: Site, scope: Scope) -> Site:
    """Return the lines that are built, all in one scope."""
    lines = tuple(replace(line, scope=scope) for line in site.lines if line.scope in BUILT)
    return replace(site, lines=lines)


def _built(job: _Job) -> list[ScopePrice]:
    built = _with_scope(job.site, "whole_fence")
    if not built.lines:
        return []
    whole = job.result if _is_whole(job.site) else job.scoped(built, job.typed)
    posts = job.scoped(_with_scope(job.site, "posts_only"), job.typed)
    return [
        _priced("whole_fence", whole),
        replace(_priced("posts_only", posts), self_built=_left_to_customer(job, whole, posts)),
        *_goods(job, whole),
    ]


def _left_to_customer(job: _Job, whole: EstimateResult, posts: EstimateResult) -> SelfBuilt:
    goods = job.catalog.rules.goods
    rest = _difference(whole.cost_lines, posts.cost_lines)
    sale = sell_goods(rest, job.catalog.rules, goods) if goods else None
    still_bought = sum((line.amount for line in rest), Decimal(0))
    return SelfBuilt(
        material=sale,
        hours=whole.total_hours - posts.total_hours,
        saves=whole.money.price - posts.money.price - sale.price if sale else None,
        saves_cost=whole.money.direct_cost - posts.money.direct_cost - still_bought,
        whole_price=whole.money.price,
    )


def _difference(whole: Sequence[CostLine], part: Sequence[CostLine]) -> list[CostLine]:
    """Return the material that the whole has over the part, item by item."""
    had = {line.item: line for line in part if line.kind == "material"}
    rest = []
    for line in whole:
        if line.kind != "material":
            continue
        less = had.get(line.item)
        amount = line.amount - less.amount if less else line.amount
        quantity = line.quantity - less.quantity if less else line.quantity
        if amount > 0:
            rest.append(replace(line, quantity=quantity, amount=amount))
    return rest


def _goods(job: _Job, whole: EstimateResult) -> list[ScopePrice]:
    rules = job.catalog.rules
    if rules.goods is None:
        return []
    sale = sell_goods(whole.cost_lines, rules, rules.goods)
    return [
        ScopePrice(
            key="materials_only",
            posts=_posts(whole),
            bays=_bays(whole),
            gates=_gates(whole),
            hours=0.0,
            set_hours=0.0,
            direct_cost=sale.direct_cost,
            margin=sale.margin,
            price_before_tax=sale.price_before_tax,
            sales_tax=sale.sales_tax,
            price=sale.price,
            goods=sale,
            self_built=SelfBuilt(
                material=None,
                hours=whole.total_hours,
                saves=whole.money.price - sale.price,
                saves_cost=whole.money.direct_cost - sale.direct_cost,
                whole_price=whole.money.price,
            ),
        )
    ]


def _removal(job: _Job) -> list[ScopePrice]:
    lines = tuple(line for line in job.site.lines if line.scope == "removal")
    if not lines:
        return []
    if len(lines) == len(job.site.lines):
        return [_priced("removal_only", job.result)]
    return [_priced("removal_only", job.scoped(replace(job.site, lines=lines), ()))]


def _priced(key: ScopeKey, result: EstimateResult) -> ScopePrice:
    money = result.money
    return ScopePrice(
        key=key,
        posts=_posts(result),
        bays=_bays(result),
        gates=_gates(result),
        hours=result.total_hours,
        set_hours=sum(each.labor_hours for each in result.hours if each.phase in DIG_AND_SET),
        direct_cost=money.direct_cost,
        margin=money.margin,
        price_before_tax=money.price_before_tax,
        sales_tax=money.sales_tax,
        price=money.price,
        findings=result.findings,
    )


def _posts(result: EstimateResult) -> int:
    return sum(len(line.posts) for line in result.lines if line.scope in BUILT)


def _bays(result: EstimateResult) -> int:
    return sum(len(line.bays) for line in result.lines if line.scope in BUILT)


def _gates(result: EstimateResult) -> int:
    """Return the gates that are hung."""
    return sum(len(line.gates) for line in result.lines if line.scope == "whole_fence")
