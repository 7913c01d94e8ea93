"""Findings on what the place asks: pool barriers, sight triangles, permits, frost, spoil.

None of it is approval: the town's code and licensed people decide.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from estimating.engine import pool, sight, spoil
from estimating.engine.catalog import Catalog, FenceSystem
from estimating.engine.footings import Footings
from estimating.engine.heights import fence_top_in
from estimating.engine.result import Finding, LineLayout
from estimating.engine.site import Conditions
from firm.measure.lengths import format_ft_in, format_in
from firm.measure.units import CUBIC_FT_PER_CUBIC_YD

LOCAL_CODE = "The local code and licensed people decide."
# Cities of one state, and others, ask for more than the model codes.
POOL_HEIGHT_ELSEWHERE_IN = 60.0
# ASTM F1999, its scope: installation of vinyl fence where frost reaches 30 in or less.
VINYL_FROST_IN = 30.0
# Earth in place, dry and wet: earthwork tables give about 100, wet soil over 120.
SOIL_LB_FT3 = (100.0, 120.0)
POOL_STOPS = frozenset({"pool-height", "pool-opening"})


def find(
    lines: Sequence[LineLayout], catalog: Catalog, conditions: Conditions, footings: Footings
) -> Iterator[Finding]:
    """Yield what the place asks of lines that are built."""
    built = [line for line in lines if line.scope != "removal"]
    if conditions.pool_barrier:
        rules = rules_of(conditions, catalog.rules.pool)
        for line in built:
            if line.scope == "whole_fence":
                yield from _pool(line, catalog.systems[line.system], conditions, rules)
    yield from _sight(built, catalog, conditions)
    yield from _permits(built, catalog)
    yield from _vinyl_frost(built, catalog, conditions)
    yield from _loads(footings, catalog, conditions)


def rules_of(conditions: Conditions, usual: pool.PoolRules) -> pool.PoolRules:
    """Return the town's rule set: the usual one with the figures that the town has of its own."""
    rules = usual
    if conditions.pool_height_in is not None:
        rules = replace(rules, height_in=conditions.pool_height_in)
    if conditions.pool_gap_in is not None:
        rules = replace(rules, gap_in=conditions.pool_gap_in)
    return rules


def _pool(
    line: LineLayout, system: FenceSystem, conditions: Conditions, rules: pool.PoolRules
) -> Iterator[Finding]:
    if system.barrier is None:
        yield Finding(
            code="pool-infill-unknown",
            severity="warn",
            message="Nothing is known of this fence's openings and rails as a pool barrier.",
            place=f"line {line.line_id}",
            figure=f"fence system {system.name}",
            limit="openings, rails and mesh have limits around a pool",
            action=f"Check them by hand, or enter them in the fence system. {LOCAL_CODE}",
        )
        barrier = pool.Barrier(infill="boards")
    else:
        barrier = system.barrier
    top_in = fence_top_in(system.height_in)
    found = [
        *pool.breaches(
            barrier,
            rules,
            height_in=top_in,
            gap_in=system.ground_gap_in,
            rails_on_pool_side=barrier.rails_show == "back",
        ),
        *_latch(line, system, barrier, conditions, rules),
    ]
    for code, sentence, figure, limit in found:
        yield Finding(
            code=code,
            severity="stop" if code in POOL_STOPS else "warn",
            message=sentence,
            place=f"line {line.line_id}",
            figure=figure,
            limit=limit,
            action=f"Choose another fence or change this one. {LOCAL_CODE}",
        )
    if barrier.rails_show == "back" and 0 < barrier.rails_apart_in < rules.rails_apart_in:
        yield _rails_side(line, barrier, rules)
    if conditions.pool_height_in is None and rules.height_in <= top_in < (POOL_HEIGHT_ELSEWHERE_IN):
        yield Finding(
            code="pool-height",
            severity="warn",
            message="The fence may be too low for a pool barrier.",
            place=f"line {line.line_id}",
            figure=format_in(top_in),
            limit=(
                f"{format_in(rules.height_in)} in model codes, "
                f"{format_in(POOL_HEIGHT_ELSEWHERE_IN)} in several places"
            ),
            action=f"Ask what the town requires, and enter it. {LOCAL_CODE}",
        )


def _latch(
    line: LineLayout,
    system: FenceSystem,
    barrier: pool.Barrier,
    conditions: Conditions,
    rules: pool.PoolRules,
) -> Iterator[pool.Breach]:
    if line.gates and conditions.pool_latch_in is not None:
        yield from pool.latch_breaches(
            barrier,
            rules,
            top_in=fence_top_in(system.height_in),
            latch_in=conditions.pool_latch_in,
            latch_on_pool_side=conditions.pool_latch_on_pool_side,
        )


def _rails_side(line: LineLayout, barrier: pool.Barrier, rules: pool.PoolRules) -> Finding:
    other = "right" if line.finished_face == "left" else "left"
    return Finding(
        code="pool-rails-side",
        severity="note",
        message="The rails have to look at the pool: outside they could be climbed.",
        place=f"line {line.line_id}",
        figure=f"rails on the {other} of the line, tops {format_in(barrier.rails_apart_in)} apart",
        limit=f"tops under {format_in(rules.rails_apart_in)} apart on the pool's side alone",
        action=f"Check that the pool lies {other} of the line. {LOCAL_CODE}",
    )


def triangle_of(conditions: Conditions) -> sight.SightTriangle | None:
    """Return the sight triangle of a corner lot, None where the site has none."""
    x_in, y_in = conditions.sight_corner_x_in, conditions.sight_corner_y_in
    if conditions.sight_leg_in is None or x_in is None or y_in is None:
        return None
    return sight.SightTriangle(
        corner_x_in=x_in,
        corner_y_in=y_in,
        first_bearing_deg=conditions.sight_first_bearing_deg,
        second_bearing_deg=conditions.sight_second_bearing_deg,
        leg_in=conditions.sight_leg_in,
        low_in=conditions.sight_low_in,
        high_in=conditions.sight_high_in,
    )


def _sight(
    lines: Sequence[LineLayout], catalog: Catalog, conditions: Conditions
) -> Iterator[Finding]:
    triangle = triangle_of(conditions)
    if triangle is None:
        return
    band = f"{format_ft_in(triangle.low_in)} up"
    if triangle.high_in:
        band = f"{format_ft_in(triangle.low_in)} to {format_ft_in(triangle.high_in)}"
    for line in lines:
        system = catalog.systems[line.system]
        top_in = fence_top_in(system.height_in)
        inside_in = sight.stretch_inside_in(triangle, line.plan_points)
        if inside_in < 1 or not triangle.is_obstructed_by(system.ground_gap_in, top_in):
            continue
        is_open = system.wind is not None and not system.wind.screen.is_solid
        yield Finding(
            code="in-sight-triangle",
            severity="warn" if is_open else "stop",
            message="The fence stands in the sight triangle of the corner, in the drivers' view.",
            place=f"line {line.line_id}",
            figure=f"{format_ft_in(inside_in)} of it, {format_ft_in(top_in)} high",
            limit=f"nothing from {band} within {format_ft_in(triangle.leg_in)} of the corner",
            action=(
                "Set the fence back behind the triangle, or choose one that ends under the band. "
                f"Some towns let one see through. {LOCAL_CODE}"
            ),
        )


def _permits(lines: Sequence[LineLayout], catalog: Catalog) -> Iterator[Finding]:
    limit_in = catalog.rules.permit_free_height_in
    tall = [
        line for line in lines if fence_top_in(catalog.systems[line.system].height_in) > limit_in
    ]
    if not limit_in or not tall:
        return
    yield Finding(
        code="height-wants-permit",
        severity="warn",
        message="A fence so high needs a building permit even where lower ones do not.",
        place=", ".join(f"line {line.line_id}" for line in tall),
        figure=format_in(
            max(fence_top_in(catalog.systems[line.system].height_in) for line in tall)
        ),
        limit=f"{format_in(limit_in)} without a permit in the model code (IRC R105.2)",
        action=f"Ask the building department; a lower fence may need one as well. {LOCAL_CODE}",
    )


def _vinyl_frost(
    lines: Sequence[LineLayout], catalog: Catalog, conditions: Conditions
) -> Iterator[Finding]:
    vinyl = [line for line in lines if _is_vinyl(catalog.systems[line.system])]
    if not vinyl or conditions.frost_depth_in <= VINYL_FROST_IN:
        return
    yield Finding(
        code="vinyl-in-deep-frost",
        severity="note",
        message="The practice for setting vinyl fence ends at this depth of frost.",
        place=", ".join(f"line {line.line_id}" for line in vinyl),
        figure=f"{format_in(conditions.frost_depth_in)} of frost",
        limit=f"{format_in(VINYL_FROST_IN)} (scope of ASTM F1999)",
        action="Ask the maker how its posts are set in such ground.",
    )


def _is_vinyl(system: FenceSystem) -> bool:
    posts = system.wind.posts if system.wind else {}
    return any(post.material == "vinyl" for post in posts.values())


def _loads(footings: Footings, catalog: Catalog, conditions: Conditions) -> Iterator[Finding]:
    load_yd3 = catalog.rules.spoil_load_yd3
    loose_yd3 = footings.concrete.spoil_loose_yd3
    if conditions.spoil != "haul" or not load_yd3 or loose_yd3 <= 0:
        return
    swell_pct = catalog.rates.swell_pct.get(conditions.soil_class, 0.0)
    bank_yd3 = loose_yd3 * spoil.load_factor(swell_pct)
    dry_lb, wet_lb = (spoil.weight_lb(bank_yd3, lb_ft3) for lb_ft3 in SOIL_LB_FT3)
    full_lb = wet_lb * min(1.0, load_yd3 / loose_yd3)
    yield Finding(
        code="spoil-to-haul",
        severity="note",
        message=(
            f"The soil weighs {dry_lb:,.0f} lb dry to {wet_lb:,.0f} lb wet; "
            f"one load up to {full_lb:,.0f} lb."
        ),
        place="the whole site",
        figure=(
            f"{loose_yd3:.2f} yd3 loose ({bank_yd3 * CUBIC_FT_PER_CUBIC_YD:.0f} ft3 in the "
            f"ground), {spoil.loads(loose_yd3, load_yd3=load_yd3)} load(s)"
        ),
        limit=f"{load_yd3:g} yd3 a load",
        action="Check what the trailer may carry, and where the soil may be left.",
    )
