"""Findings over holes, posts, concrete and hardware; the layout's own are found with it."""

import math
from collections.abc import Iterable, Iterator, Sequence

from estimating.engine.catalog import Catalog, FenceSystem
from estimating.engine.concrete import Concrete
from estimating.engine.footings import Footings, PostHole
from estimating.engine.geometry import PER_INCH
from estimating.engine.infill import materials_of
from estimating.engine.labor import DIG_AND_SET, Labor
from estimating.engine.post_lengths import needed_length_in
from estimating.engine.products import product_for, product_of
from estimating.engine.result import Finding, LineLayout
from estimating.engine.site import Conditions
from firm.measure.lengths import format_in
from firm.measure.units import IN_PER_FT, to_decimal

# Common practice, no source: the depths and volumes that call for a second look.
USUAL_CONCRETE_IN = 30.0
READY_MIX_YD3 = 1.5
WIDE_LEAF_IN = 48.0
# From memory, a limit of chain link specifications; common practice stays under it.
LARGEST_BAND_GAP_IN = 15.0
# Only a hollow post displaces nothing, or its outline, instead of its solid self.
HOLLOW = frozenset({"nothing", "outline"})


def find(
    lines: Sequence[LineLayout],
    catalog: Catalog,
    conditions: Conditions,
    footings: Footings,
    labor: Labor,
) -> list[Finding]:
    """Return what the job's holes, posts and hardware break or come near."""
    return [
        *_hole_findings(footings),
        *_longer_posts(footings),
        *_frost_finding(footings, conditions),
        *_driven_finding(footings),
        *_concrete_findings(footings),
        *(found for line in lines for found in _hardware_findings(line, catalog)),
        *(found for line in lines for found in _removal_finding(line)),
        *_posts_only_finding(lines, labor),
    ]


def posts_in_words(post_holes: Iterable[PostHole]) -> str:
    """Return where posts stand: post 7, or posts 1, 3, 8 and how many more."""
    numbers = [each.post.number for each in post_holes]
    if len(numbers) == 1:
        return f"post {numbers[0]}"
    text = ", ".join(str(number) for number in numbers[:6])
    return f"posts {text}" + (f" and {len(numbers) - 6} more" if len(numbers) > 6 else "")


def _hole_findings(footings: Footings) -> Iterator[Finding]:
    """Yield one finding for each way a post and its hole don't go together."""
    narrow = [each for each in footings.post_holes if each.setting != "driven" and not _fits(each)]
    if narrow:
        worst = narrow[0]
        yield Finding(
            code="hole-too-narrow",
            severity="stop",
            message="The post does not fit its hole.",
            place=posts_in_words(narrow),
            figure=f"{worst.hole.diameter_in:g} in hole",
            limit=f"{_width_across_in(worst):.2f} in across the post",
            action="Give the post's product a wider hole.",
        )
    short = [each for each in footings.post_holes if each.post.length_in < _needed_in(each)]
    if short:
        worst = max(short, key=lambda each: _needed_in(each) - each.post.length_in)
        needed_in = math.ceil(_needed_in(worst) * PER_INCH - 1e-6) / PER_INCH
        yield Finding(
            code="post-too-short",
            severity="stop",
            message="The post is shorter than its depth in the ground and its height above it.",
            place=posts_in_words(short),
            figure=f"{format_in(worst.post.length_in)} post",
            limit=f"{format_in(needed_in)} needed",
            action=(
                f"Order posts of {format_in(needed_in)} or more: the fence system has to "
                "name them as its longer posts, and the price book their price. A shallower hole "
                "helps only where the local rules allow one."
            ),
        )
    shallow = [each for each in footings.post_holes if _is_under_a_third(each)]
    if shallow:
        worst = shallow[0]
        yield Finding(
            code="less-than-a-third-in-the-ground",
            severity="note",
            message="Less than a third of the post's length stands in the ground.",
            place=posts_in_words(shallow),
            figure=f"{_embedded_in(worst):g} in",
            limit=f"{worst.post.length_in / 3:.1f} in",
            action="Consider a deeper hole; a habit of the trade, not an engineering rule.",
        )


def _longer_posts(footings: Footings) -> Iterator[Finding]:
    longer = [
        each
        for each in footings.post_holes
        if not each.post.size and each.post.product in product_of(each.system, each.post).longer
    ]
    if longer:
        lengths = sorted({each.post.length_in for each in longer})
        yield Finding(
            code="longer-posts",
            severity="note",
            message="Longer posts than this fence's usual ones are counted: deep holes or steps.",
            place=posts_in_words(longer),
            figure=", ".join(format_in(length) for length in lengths),
            action="Ask the supplier for these lengths before the price goes out.",
        )


def _driven_finding(footings: Footings) -> Iterator[Finding]:
    driven = [each for each in footings.post_holes if each.setting == "driven"]
    if driven:
        yield Finding(
            code="driven-posts",
            severity="note",
            message=(
                "Posts are driven: no hole shows what lies below, and a driven post cuts a line as "
                "an auger does."
            ),
            place=posts_in_words(driven),
            action=(
                "Wait for the locate ticket and every answer as before digging, and ask the owner "
                "for private lines. Look up for overhead lines before the driver is lifted."
            ),
        )


def _rail_finding(line: LineLayout, system: FenceSystem) -> Iterator[Finding]:
    """Yield a warning where bottom rails without their metal stiffener sag."""
    longest_in = max((bay.on_centre_in for bay in line.bays), default=0.0)
    limit_in = system.rail_sags_over_in
    is_stiffened = any(m.stiffens == "bottom_rail" for m in materials_of(line, system))
    if limit_in and longest_in > limit_in and not is_stiffened:
        yield Finding(
            code="bottom-rail-will-sag",
            severity="warn",
            message=(
                "A bottom rail without a metal stiffener will sag in bays as long as these, and "
                "the infill with it."
            ),
            place=f"line {line.line_id}",
            figure=f"{format_in(longest_in)} on centre",
            limit=f"{format_in(limit_in)} (common practice, no source)",
            action="Take the stiffener, or set the posts closer.",
        )


def _removal_finding(line: LineLayout) -> Iterator[Finding]:
    if line.scope == "removal" and not line.old_footings:
        yield Finding(
            code="old-footings-not-counted",
            severity="note",
            message="No old footings are counted: they stay in the ground.",
            place=f"line {line.line_id}",
            action="Count the old fence's footings and type their number, if they are to come out.",
        )


def _width_across_in(each: PostHole) -> float:
    is_round = product_of(each.system, each.post).shape == "round"
    return each.post.width_in * (1.0 if is_round else math.sqrt(2))


def _fits(each: PostHole) -> bool:
    return _width_across_in(each) < each.hole.diameter_in


def _embedded_in(each: PostHole) -> float:
    return each.hole.depth_in - each.system.hole.gravel_in


def _needed_in(each: PostHole) -> float:
    return needed_length_in(each.system, each.post, depth_in=each.hole.depth_in)


def _is_under_a_third(each: PostHole) -> bool:
    """Chain link has no such rule: its depth follows from its height."""
    return each.system.family == "panel" and _embedded_in(each) < each.post.length_in / 3


def _frost_finding(footings: Footings, conditions: Conditions) -> Iterator[Finding]:
    by_frost = [each for each in footings.post_holes if each.hole.depth_rule == "frost depth"]
    if by_frost:
        yield Finding(
            code="frost-sets-the-depth",
            severity="note",
            message=(
                "Frost sets the depth here. A belled hole must go deeper by the height of the "
                "bell, and concrete that widens near the surface gives frost a hold."
            ),
            place=posts_in_words(by_frost),
            figure=f"{conditions.frost_depth_in:g} in",
            action="Keep the hole's sides straight or wider at the bottom.",
        )


def _concrete_findings(footings: Footings) -> Iterator[Finding]:
    short = [
        each
        for each in footings.post_holes
        if each.system.family == "panel"
        and each.setting not in ("tamped", "driven")
        and each.hole.concrete_length_in < USUAL_CONCRETE_IN
    ]
    if short:
        yield Finding(
            code="concrete-shorter-than-usual",
            severity="note",
            message="Panel fences usually stand in 30 in of concrete.",
            place=posts_in_words(short),
            figure=f"{short[0].hole.concrete_length_in:g} in",
            limit=f"{USUAL_CONCRETE_IN:g} in",
            action="Check the system's depth, gravel and where its concrete stops.",
        )
    yield from _truck_finding(footings.concrete)


def _truck_finding(concrete: Concrete) -> Iterator[Finding]:
    """Yield that a truck comes cheaper; where it has no price, that it may for so much."""
    truck = next((way for way in concrete.ways if way.kind == "ready_mix"), None)
    if truck and concrete.chosen:
        if truck.total < concrete.chosen.total:
            yield Finding(
                code="ready-mix-is-cheaper",
                severity="note",
                message="Ready-mixed concrete would cost less here than the firm's way.",
                figure=f"{concrete.cubic_yards:.2f} yd3, {concrete.bags} bags",
                action=(
                    "Look at the ways for the concrete; a truck or a barrow has to reach every "
                    "hole, and every post has to be ready for it."
                ),
            )
        return
    if concrete.cubic_yards > READY_MIX_YD3:
        yield Finding(
            code="compare-ready-mix",
            severity="note",
            message="This much concrete may come cheaper by truck.",
            figure=f"{concrete.cubic_yards:.2f} yd3, {concrete.bags} bags",
            limit=f"{READY_MIX_YD3} yd3",
            action="Compare with a short load, if a truck or a barrow can reach every hole.",
        )


def _hardware_findings(line: LineLayout, catalog: Catalog) -> Iterator[Finding]:
    system = catalog.systems[line.system]
    if line.scope == "whole_fence":
        yield from _band_finding(line, system)
        yield from _rail_finding(line, system)
    if line.scope != "removal" and line.gates and system.family == "panel":
        yield from _stiffener_findings(line, system)


def _band_finding(line: LineLayout, system: FenceSystem) -> Iterator[Finding]:
    """Yield a warning where the bands on a tension bar stand too far apart."""
    for material in system.materials:
        if material.driver != "height_ft":
            continue
        bands = material.quantity * system.height_in / IN_PER_FT - material.less
        gap_in = system.height_in / (bands + 1) if bands > 0 else system.height_in
        if gap_in > LARGEST_BAND_GAP_IN:
            yield Finding(
                code="bands-far-apart",
                severity="warn",
                message="The bands on the tension bars stand far apart.",
                place=f"line {line.line_id}, {material.item}",
                figure=f"{gap_in:.1f} in",
                limit=f"{LARGEST_BAND_GAP_IN:g} in",
                action="Take one more band for each bar.",
            )


def _stiffener_findings(line: LineLayout, system: FenceSystem) -> Iterator[Finding]:
    """Yield what a hollow gate post still needs."""
    is_hollow = not HOLLOW.isdisjoint(product_for(system, "gate").displaces.values())
    has_stiffener = any(m.driver == "post" and m.roles == ("gate",) for m in system.materials)
    if is_hollow and not has_stiffener:
        yield Finding(
            code="gate-post-without-stiffener",
            severity="warn",
            message="The fence system has no stiffener for its hollow gate posts.",
            place=f"line {line.line_id}",
            action="Add a stiffener to the system, for posts of the role gate.",
        )
    wide = [gate for gate in line.gates if gate.leaf_in > WIDE_LEAF_IN]
    if any(m.reach == "above_ground" and "gate" in m.roles for m in system.materials):
        yield _short_stiffener(line)
    is_full_depth = any(m.reach == "full_depth" and "gate" in m.roles for m in system.materials)
    if is_hollow and wide and not is_full_depth:
        yield Finding(
            code="wide-leaf-on-hollow-post",
            severity="note",
            message="A leaf over 4 ft wants a stiffener from the hole's bottom to the post's top.",
            place=", ".join(f"gate {gate.id}" for gate in wide),
            figure=f"{max(gate.leaf_in for gate in wide):g} in",
            limit=f"{WIDE_LEAF_IN:g} in",
            action="Order full-depth stiffeners for these posts.",
        )


def _short_stiffener(line: LineLayout) -> Finding:
    """Return what a stiffener that ends at the ground can't do; a wide or driven leaf needs it."""
    widest_in = max(gate.leaf_in for gate in line.gates)
    is_heavy = widest_in > WIDE_LEAF_IN or any(gate.use == "drive" for gate in line.gates)
    return Finding(
        code="stiffener-above-ground-only",
        severity="warn" if is_heavy else "note",
        message=(
            "Gate stiffeners that end at the ground hold the hinges' screws, but carry none of "
            "the leaf's pull into the concrete."
        ),
        place=", ".join(f"gate {gate.id}" for gate in line.gates),
        figure=f"{widest_in:g} in",
        limit=f"{WIDE_LEAF_IN:g} in",
        action="Choose full-depth stiffeners for a wide, tall or drive gate.",
    )


def _posts_only_finding(lines: Sequence[LineLayout], labor: Labor) -> Iterator[Finding]:
    """Yield what leaving out the hanging saves, so that the office can explain the price."""
    if not any(line.scope == "posts_only" for line in lines):
        return
    hours = {each.phase: each.labor_hours for each in labor.hours}
    set_hours = sum(hours.get(phase, 0.0) for phase in DIG_AND_SET)
    yield Finding(
        code="posts-only",
        severity="note",
        message=(
            "Digging and setting is the larger part of the labour, so leaving out the hanging "
            "saves the customer little while the firm keeps the risk."
        ),
        figure=(
            f"{to_decimal(set_hours, 1)} h to lay out, dig and set; "
            f"hanging would take {to_decimal(labor.left_out_hours, 1)} h more"
        ),
        action="Say before the order who answers for panels that others hang.",
    )
