"""What would pass: deeper or wider holes, closer posts, a lighter infill, each estimated anew."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil
from typing import Literal

from estimating.engine.catalog import Catalog, FenceSystem, PostProduct, TypedLine
from estimating.engine.estimate import estimate
from estimating.engine.footing_check import FootingChecks, PostCheck, check_footings
from estimating.engine.footings import dig, system_depth_in
from estimating.engine.layout import lay_out
from estimating.engine.products import hole_diameter_in
from estimating.engine.result import EstimateResult, LineLayout
from estimating.engine.site import Site
from firm.measure.units import round_up

Kind = Literal["deeper", "wider", "closer", "together", "lighter"]
DEEPEST_HOLE_IN = 84.0  # common practice, no source: what an auger with extension reaches
WIDEST_HOLE_IN = 30.0  # common practice, no source: the widest auger a small firm rents
CLOSEST_IN = 36.0  # common practice, no source
SPACING_STEP_IN = 6.0
DIAMETER_STEP_IN = 2.0
MOST_LIGHTER = 3
# Tried together where one change alone does not do; with each the depth that it then takes.
SPACINGS_IN = (96.0, 72.0, 60.0, 48.0)
DIAMETERS_IN = (12.0, 18.0, 24.0)


@dataclass(frozen=True, kw_only=True, slots=True)
class Variant:
    """One way of building it, and what it changes against the site as it was measured.

    `passes`: no post is short any more. `figure_in` is the depth, diameter or spacing; money is
    before tax, at the estimate's own prices, without figures set by hand.
    """

    kind: Kind
    system_name: str
    passes: bool
    figure_in: float | None = None
    spacing_in: float | None = None  # of a change together, whose figure is its depth
    diameter_in: float | None = None
    reason: str = ""
    cost_change: Decimal | None = None
    price_change: Decimal | None = None
    short: int = 0
    outside: int = 0
    over_in_bending: int = 0
    new_stops: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class _Case:
    """The site as measured, its estimate, its checks, and the systems whose posts are short."""

    site: Site
    catalog: Catalog
    typed: tuple[TypedLine, ...]
    result: EstimateResult
    checks: FootingChecks
    short_systems: tuple[str, ...]

    def posts_of(self, key: str) -> list[PostCheck]:
        """Return the checked posts of the lines of a system."""
        ids = {line.line_id for line in self.result.lines if line.system == key}
        return [each for each in self.checks.posts if each.line_id in ids and each.rule]

    def names(self) -> str:
        return ", ".join(self.catalog.systems[key].name for key in self.short_systems)


def what_would_pass(
    site: Site, catalog: Catalog, *, typed: Sequence[TypedLine] = ()
) -> tuple[Variant, ...]:
    """Return the ways in which no post would be short; nothing where none is short now."""
    result = estimate(site, catalog, typed=typed)
    checks = check_footings(result.lines, result.holes, catalog, site.conditions)
    failing = {each.line_id for each in checks.posts if _fails(each)}
    short = tuple(dict.fromkeys(each.system for each in result.lines if each.line_id in failing))
    if not short:
        return ()
    case = _Case(
        site=site,
        catalog=catalog,
        typed=tuple(typed),
        result=result,
        checks=checks,
        short_systems=short,
    )
    alone = (_deeper(case), _wider(case), _closer(case))
    together = () if any(each.passes for each in alone) else (_together(case),)
    return (*alone, *together, *_lighter(case))


def _fails(check: PostCheck) -> bool:
    """Say whether a post is short, be it by more than the formula can say."""
    return check.verdict == "short" or bool(check.rule and check.needed_in is None)


def _deeper(case: _Case) -> Variant:
    depths = _depths(case)
    if depths is None:
        return _none(case, "deeper", "a post would go deeper than the formula is good for")
    deepest_in = max(depths.values())
    if deepest_in > DEEPEST_HOLE_IN:
        return _none(case, "deeper", "deeper than an auger reaches", deepest_in)
    return _tried(case, "deeper", _with(case, _dug(depths)), deepest_in)


def _depths(case: _Case) -> dict[str, float] | None:
    """Return the depth of hole by system that no post would be short in, None where none is."""
    depths: dict[str, float] = {}
    for key in case.short_systems:
        extra_in = case.catalog.systems[key].hole.gate_extra_depth_in
        deepest_in = 0.0
        for each in case.posts_of(key):
            if each.hole_in is None:
                return None
            deepest_in = max(deepest_in, each.hole_in - (extra_in if each.kind == "gate" else 0))
        depths[key] = float(round_up(deepest_in))
    return depths


def _dug(depths: dict[str, float]) -> Callable[[FenceSystem], FenceSystem]:
    def change(system: FenceSystem) -> FenceSystem:
        base_in = max(depths[system.key], system_depth_in(system))
        hole = replace(system.hole, base_depth_in=base_in, extra_depth_per_ft_in=0.0)
        return replace(system, hole=hole)

    return change


def _wider(case: _Case) -> Variant:
    widths: dict[str, float] = {}
    for key in case.short_systems:
        wanted = [each.needed_diameter_in or WIDEST_HOLE_IN * 10 for each in case.posts_of(key)]
        widths[key] = DIAMETER_STEP_IN * ceil(max(wanted) / DIAMETER_STEP_IN - 1e-9)
    widest_in = max(widths.values())
    if widest_in > WIDEST_HOLE_IN:
        return _none(case, "wider", "wider than an auger that a small firm rents", widest_in)

    return _tried(case, "wider", _with(case, _widened(widths)), widest_in)


def _widened(widths: dict[str, float]) -> Callable[[FenceSystem], FenceSystem]:
    def change(system: FenceSystem) -> FenceSystem:
        posts = {
            role: _at_least_wide(system, product, widths[system.key])
            for role, product in system.posts.items()
        }
        return replace(system, posts=posts)

    return change


def _at_least_wide(system: FenceSystem, product: PostProduct, width_in: float) -> PostProduct:
    return replace(product, hole_diameter_in=max(width_in, hole_diameter_in(system, product)))


def _closer(case: _Case) -> Variant:
    """Try closer posts step by step; the least change that passes is the answer."""
    spacing_in = max(case.catalog.systems[key].max_on_centre_in for key in case.short_systems)
    failing: int | None = None
    while spacing_in - SPACING_STEP_IN >= CLOSEST_IN:
        spacing_in -= SPACING_STEP_IN
        changed = _with(case, _spaced(spacing_in))
        failing = sum(map(_fails, _checked(*changed)[1].posts))
        if not failing:
            return _tried(case, "closer", changed, spacing_in)
    if failing is None:
        return _none(case, "closer", "the posts stand as close already")
    return _none(case, "closer", f"{failing} posts stay short even so", spacing_in)


def _together(case: _Case) -> Variant:
    """Try closer posts in wider and deeper holes at once; the answer is the cheapest that passes.

    One that needs what the price book lacks, such as a longer post, comes after all others.
    """
    found = [
        each
        for spacing_in in SPACINGS_IN
        for diameter_in in DIAMETERS_IN
        if (each := _closer_wider_deeper(case, spacing_in, diameter_in)) and each.passes
    ]
    if not found:
        return _none(case, "together", "not even closer posts in wider and deeper holes hold")
    return min(found, key=lambda each: (bool(each.new_stops), each.cost_change))


def _closer_wider_deeper(case: _Case, spacing_in: float, diameter_in: float) -> Variant | None:
    widths = dict.fromkeys(case.short_systems, diameter_in)
    closer = replace(case, catalog=_with(case, _spaced(spacing_in))[1])
    wider = replace(closer, catalog=_with(closer, _widened(widths))[1])
    _, checks = _checked(case.site, wider.catalog)
    depths = _depths(replace(wider, checks=checks))
    if depths is None or max(depths.values()) > DEEPEST_HOLE_IN:
        return None
    tried = _tried(case, "together", _with(wider, _dug(depths)), max(depths.values()))
    return replace(tried, spacing_in=spacing_in, diameter_in=diameter_in)


def _spaced(spacing_in: float) -> Callable[[FenceSystem], FenceSystem]:
    def change(system: FenceSystem) -> FenceSystem:
        return replace(system, max_on_centre_in=min(spacing_in, system.max_on_centre_in))

    return change


def _lighter(case: _Case) -> Iterator[Variant]:
    """Try the catalog's more open systems of the same height in the places of those too short."""
    found = 0
    for key, system in case.catalog.systems.items():
        if found == MOST_LIGHTER or not _is_lighter(case, system):
            continue
        found += 1
        lines = tuple(
            replace(line, system=key) if line.system in case.short_systems else line
            for line in case.site.lines
        )
        site = replace(case.site, lines=lines)
        yield _in_depth_enough(case, site, key)
    if not found:
        reason = "the list of fence systems has no more open one of this height with wind figures"
        yield _none(case, "lighter", reason)


def _in_depth_enough(case: _Case, site: Site, key: str) -> Variant:
    """Return a lighter fence by its own rules, or in deeper holes where those fall short."""
    name = case.catalog.systems[key].name
    as_usual = _tried(case, "lighter", (site, case.catalog), None, name=name)
    if as_usual.passes:
        return as_usual
    lines, checks = _checked(site, case.catalog)
    result = replace(case.result, lines=lines)
    lighter = replace(case, site=site, result=result, checks=checks, short_systems=(key,))
    depths = _depths(lighter)
    if depths is None or depths[key] > DEEPEST_HOLE_IN:
        return as_usual
    return _tried(case, "lighter", _with(lighter, _dug(depths)), depths[key], name=name)


def _is_lighter(case: _Case, system: FenceSystem) -> bool:
    if system.wind is None:
        return False
    now = [case.catalog.systems[key] for key in case.short_systems]
    return all(
        each.wind is not None
        and system.wind.screen.solidity < each.wind.screen.solidity
        and system.height_in == each.height_in
        for each in now
    )


def _with(case: _Case, change: Callable[[FenceSystem], FenceSystem]) -> tuple[Site, Catalog]:
    systems = {
        key: change(system) if key in case.short_systems else system
        for key, system in case.catalog.systems.items()
    }
    return case.site, replace(case.catalog, systems=systems)


def _checked(site: Site, catalog: Catalog) -> tuple[tuple[LineLayout, ...], FootingChecks]:
    """Lay a site out and judge its posts, without pricing it."""
    lines = lay_out(site, catalog).lines
    holes = dig(lines, catalog, site.conditions).holes
    return lines, check_footings(lines, holes, catalog, site.conditions)


def _tried(
    case: _Case,
    kind: Kind,
    changed: tuple[Site, Catalog],
    figure_in: float | None,
    *,
    name: str = "",
) -> Variant:
    """Estimate and check a changed site, and say what it changes."""
    site, catalog = changed
    result = estimate(site, catalog, typed=case.typed)
    checks = check_footings(result.lines, result.holes, catalog, site.conditions)
    known = {(each.code, each.place) for each in case.result.findings if each.severity == "stop"}
    failing = sum(_fails(each) for each in checks.posts)
    return Variant(
        kind=kind,
        system_name=name or case.names(),
        passes=not failing,
        figure_in=figure_in,
        cost_change=result.money.direct_cost - case.result.money.direct_cost,
        price_change=result.money.price_before_tax - case.result.money.price_before_tax,
        short=failing,
        outside=checks.count("outside"),
        over_in_bending=checks.over_in_bending,
        new_stops=tuple(
            dict.fromkeys(
                each.message
                for each in result.findings
                if each.severity == "stop" and (each.code, each.place) not in known
            )
        ),
    )


def _none(case: _Case, kind: Kind, reason: str, figure_in: float | None = None) -> Variant:
    return Variant(
        kind=kind, system_name=case.names(), passes=False, figure_in=figure_in, reason=reason
    )
