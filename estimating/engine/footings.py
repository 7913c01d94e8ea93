"""Holes, the concrete that fills them and the soil that comes out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from estimating.engine.catalog import Catalog, FenceSystem, HoleRule, Rules, Setting
from estimating.engine.concrete import Concrete
from estimating.engine.hole_volumes import displaced_ft3, hole_ft3, section_in2
from estimating.engine.products import dug_diameter_in, product_of, setting_of
from estimating.engine.result import Finding, Hole, LineLayout, Post
from estimating.engine.site import Conditions
from firm.measure.units import (
    CUBIC_FT_PER_CUBIC_YD,
    CUBIC_IN_PER_CUBIC_FT,
    IN_PER_FT,
    round_up,
    round_up_to_half,
)


@dataclass(frozen=True, kw_only=True, slots=True)
class PostHole:
    """One new post with the hole it stands in, its system, and how it is set."""

    line: LineLayout
    system: FenceSystem
    post: Post
    hole: Hole
    setting: Setting


@dataclass(frozen=True, kw_only=True, slots=True)
class Mixing:
    """Work on concrete at one of the firm's rates; what is wheeled takes longer over a long way."""

    rate: str
    count: float
    unit: str
    is_wheeled: bool = True


@dataclass(frozen=True, kw_only=True, slots=True)
class Footings:
    """All holes of a job, and how their concrete is made.

    `dry_bags` of the concrete's bags go dry into their holes. `wet_ft3` is what is mixed, with
    waste.
    """

    post_holes: tuple[PostHole, ...]
    concrete: Concrete
    dry_bags: float
    wet_ft3: float
    findings: tuple[Finding, ...]
    mixing: tuple[Mixing, ...] = ()

    @property
    def holes(self) -> tuple[Hole, ...]:
        return tuple(each.hole for each in self.post_holes)


def system_depth_in(system: FenceSystem) -> float:
    """Return the depth that the fence system itself asks for."""
    rule = system.hole
    extra_ft = max(0.0, system.height_in - rule.base_height_in) / IN_PER_FT
    return rule.base_depth_in + rule.extra_depth_per_ft_in * extra_ft


def hole_depth_in(
    system: FenceSystem, post: Post, conditions: Conditions, *, floor_in: float
) -> tuple[float, str]:
    """Return the hole's depth and the rule that asked for it: the greatest of four.

    Of two that ask for the same depth the one nearer to the fence is named. A post beside a gate
    goes deeper by the system's extra depth; what its own product asks for says it all. A bell lies
    wholly below frost, so where there is one frost asks for its own depth and the bell's height.
    """
    extra_in = system.hole.gate_extra_depth_in if post.kind == "gate" else 0.0
    frost_in = conditions.frost_depth_in
    bell_in = system.hole.bell_height_in if frost_in > 0 else 0.0
    asked = (
        (system_depth_in(system) + extra_in, "fence system's rule"),
        (product_of(system, post).least_depth_in, "fence system's rule"),
        (floor_in + extra_in, "firm's floor"),
        (frost_in + bell_in + extra_in, "frost depth"),
        (conditions.local_hole_depth_in + extra_in, "local rule"),
    )
    return max(asked, key=lambda depth_and_rule: depth_and_rule[0])


def hole_for(
    system: FenceSystem, post: Post, conditions: Conditions, *, floor_in: float, swell_pct: float
) -> Hole:
    """Return one post's hole: size, concrete net of the post, and the loose soil it gives.

    A post that is driven has none: its diameter is 0, and its depth is how far it goes in.
    """
    setting = setting_of(system, post)
    product = product_of(system, post)
    diameter_in = 0.0 if setting == "driven" else dug_diameter_in(system, product)
    depth_in, depth_rule = hole_depth_in(system, post, conditions, floor_in=floor_in)
    concrete_length_in = _concrete_length_in(system, setting, depth_in)
    rule = system.hole if concrete_length_in else replace(system.hole, bell_height_in=0.0)
    filled_ft3 = hole_ft3(
        diameter_in, rule, from_in=rule.gravel_in, to_in=rule.gravel_in + concrete_length_in
    )
    displaced = displaced_ft3(system, post, length_in=concrete_length_in)
    return Hole(
        post_number=post.number,
        diameter_in=diameter_in,
        depth_in=depth_in,
        depth_rule=depth_rule,
        concrete_length_in=concrete_length_in,
        displaced_ft3=displaced,
        concrete_ft3=max(0.0, filled_ft3 - displaced),
        spoil_ft3=_spoil_ft3(system, post, depth_in, diameter_in, rule) * (1 + swell_pct / 100),
        bell_diameter_in=rule.bell_diameter_in if rule.bell_height_in else 0.0,
        bell_height_in=rule.bell_height_in,
    )


def _spoil_ft3(
    system: FenceSystem, post: Post, depth_in: float, diameter_in: float, rule: HoleRule
) -> float:
    """Return the soil that stays out of a hole, as it lay in the ground.

    Where the soil is tamped back, that is what the post and the gravel under it take up.
    """
    if setting_of(system, post) != "tamped":
        return hole_ft3(diameter_in, rule, from_in=0.0, to_in=depth_in)
    gravel_in = min(rule.gravel_in, depth_in)
    post_ft3 = section_in2(system, post) * (depth_in - gravel_in) / CUBIC_IN_PER_CUBIC_FT
    return post_ft3 + hole_ft3(diameter_in, rule, from_in=0.0, to_in=gravel_in)


def _concrete_length_in(system: FenceSystem, setting: Setting, depth_in: float) -> float:
    """Return the height of concrete in a hole; a post tamped in earth, or driven, has none."""
    if setting in ("tamped", "driven"):
        return 0.0
    return max(0.0, depth_in + system.hole.concrete_top_in - system.hole.gravel_in)


def dig(lines: Sequence[LineLayout], catalog: Catalog, conditions: Conditions) -> Footings:
    """Return every hole of the lines that get new posts, with the job's concrete and spoil."""
    findings: list[Finding] = []
    swell_pct = catalog.rates.swell_pct.get(conditions.soil_class)
    if swell_pct is None:
        findings.append(_missing_swell(conditions.soil_class))
    post_holes = tuple(
        PostHole(line=line, system=system, post=post, hole=hole, setting=setting_of(system, post))
        for line in lines
        if line.scope != "removal"
        for system in (catalog.systems[line.system],)
        for post in line.posts
        for hole in (
            hole_for(
                system,
                post,
                conditions,
                floor_in=catalog.rules.hole_floor_in,
                swell_pct=swell_pct or 0.0,
            ),
        )
    )
    bag = catalog.prices.get(catalog.rules.bag_item)
    yield_ft3 = (bag.yield_ft3 if bag else None) or 0.0
    if post_holes and yield_ft3 <= 0:
        findings.append(_missing_yield(catalog.rules.bag_item))
    factor = 1 + catalog.rules.concrete_waste_pct / 100
    bags, dry_bags = bags_of(post_holes, factor=factor, yield_ft3=yield_ft3)
    return Footings(
        post_holes=post_holes,
        concrete=_concrete(
            post_holes,
            factor=factor,
            bags=bags,
            bag_item=catalog.rules.bag_item,
            yield_ft3=yield_ft3,
        ),
        dry_bags=dry_bags,
        wet_ft3=_wet_ft3(post_holes) * factor,
        findings=tuple(findings),
        mixing=bag_mixing(
            bags, dry_bags, yield_ft3=yield_ft3, own_yield_ft3=yield_ft3, rules=catalog.rules
        ),
    )


def bags_of(
    post_holes: Sequence[PostHole], *, factor: float, yield_ft3: float
) -> tuple[int, float]:
    """Return a job's bags of one size and how many of them go in dry.

    Bags are rounded up once for the job; dry ones to the half bag at each post.
    """
    if yield_ft3 <= 0:
        return 0, 0.0
    dry_bags = sum(
        round_up_to_half(each.hole.concrete_ft3 * factor / yield_ft3)
        for each in post_holes
        if _goes_in_dry(each.setting)
    )
    return round_up(_wet_ft3(post_holes) * factor / yield_ft3 + dry_bags), dry_bags


def bag_mixing(
    bags: int, dry_bags: float, *, yield_ft3: float, own_yield_ft3: float, rules: Rules
) -> tuple[Mixing, Mixing]:
    """Return the work on bags, wet and dry, in bags of the size that the rates are for.

    Where the rules don't say which that is, it is the firm's own.
    """
    rated_ft3 = rules.concrete.mix_rate_yield_ft3 or own_yield_ft3
    share = yield_ft3 / rated_ft3 if rated_ft3 else 0.0
    return (
        Mixing(rate="mix.bag", count=max(0.0, bags - dry_bags) * share, unit="bag"),
        Mixing(rate="mix.dry_pack_bag", count=dry_bags * share, unit="bag", is_wheeled=False),
    )


def _wet_ft3(post_holes: Sequence[PostHole]) -> float:
    return sum(each.hole.concrete_ft3 for each in post_holes if not _goes_in_dry(each.setting))


def _concrete(
    post_holes: Sequence[PostHole], *, factor: float, bags: int, bag_item: str, yield_ft3: float
) -> Concrete:
    net_ft3 = sum(each.hole.concrete_ft3 for each in post_holes)
    return Concrete(
        net_ft3=net_ft3,
        with_waste_ft3=net_ft3 * factor,
        bags=bags,
        bag_item=bag_item,
        bag_yield_ft3=yield_ft3,
        cubic_yards=net_ft3 * factor / CUBIC_FT_PER_CUBIC_YD,
        spoil_loose_yd3=sum(each.hole.spoil_ft3 for each in post_holes) / CUBIC_FT_PER_CUBIC_YD,
    )


def _goes_in_dry(setting: Setting) -> bool:
    return setting == "dry_pack"


def _missing_swell(soil_class: str) -> Finding:
    return Finding(
        code="missing-rate",
        severity="stop",
        message=f"There is no swell for the soil class '{soil_class}'.",
        place=f"rates.swell_pct.{soil_class}",
        action="Add the swell in percent; until then spoil is counted without any.",
    )


def _missing_yield(bag_item: str) -> Finding:
    return Finding(
        code="missing-yield",
        severity="stop",
        message=f"The price book has no bag '{bag_item}' with a yield, so no bags are counted.",
        place=f"prices.{bag_item}.yield_ft3",
        action="Enter the yield printed on the bag in cubic feet.",
    )
