"""The scope of work in words, made from the layout so that it says what will be built."""

import math
from collections.abc import Mapping
from itertools import pairwise

from estimating.services.estimate_facts import DRIVEN, EstimateFacts, GateFacts, LineFacts
from firm.measure.written import METRIC, US, exact_in, length_words

WIDE_GATE_IN = 72
NOT_NEEDING_AN_S = 1
GATE_USES = {
    "walk": "walk gate",
    "mower": "mower gate",
    "drive": "drive gate",
    "pool": "pool gate",
    "livestock": "livestock gate",
}
POST_PLACES = {
    "end": ("at an end", "at ends"),
    "corner": ("at a corner", "at corners"),
    "gate": ("at a gate", "at gates"),
    "pull": ("to pull the fabric tight", "to pull the fabric tight"),
    "line": ("between", "between"),
}
OUTWARD = "outward, away from what the fence goes around"
INWARD = "inward, toward what the fence goes around"
# A line that turns by more than this goes around something: it has an inside.
GOES_ROUND_DEG = 135.0
MOST_WAYS = 2
COMPASS = (
    "north",
    "northeast",
    "east",
    "southeast",
    "south",
    "southwest",
    "west",
    "northwest",
)
OTHER_SIDE = {"left": "right", "right": "left"}


def scope_text(facts: EstimateFacts, units: str = US) -> str:
    """Return the scope: a paragraph for each line, then what becomes of the soil."""
    paragraphs = [line_words(line, units) for line in facts.lines]
    if any(line.posts for line in facts.lines):
        paragraphs.append(
            "Soil from the holes is hauled away."
            if facts.hauls_spoil
            else "Soil from the holes is spread on the site."
        )
    return "\n\n".join(paragraphs)


def line_words(line: LineFacts, units: str = US) -> str:
    """Return what is built along one line."""
    length = length_words(line.length_in, units)
    system = _system(line, units)
    where = f"{line.name}, {line.yard} yard"
    if line.scope == "removal":
        return f"{where}: take down {length} of old fence. {_old_footings(line.old_footings)}"
    opening = (
        f"{where}: set posts only for {length} of "
        if line.scope == "posts_only"
        else f"{where}: build {length} of "
    )
    sentences = [
        f"{opening}{system}, gates included in the length." if line.gates else f"{opening}{system}."
    ]
    sentences.append(_posts(line, units))
    sentences.append(_slope(line, units))
    sentences.append(_face(line))
    if line.scope == "posts_only":
        sentences.append("Rails, panels, fabric and gates are hung by others.")
    paragraph = " ".join(sentence for sentence in sentences if sentence)
    return "\n".join([paragraph, *(gate_words(gate, line, units) for gate in line.gates)])


def _slope(line: LineFacts, units: str) -> str:
    """Return how the fence steps on its slope, and how much stays open under it."""
    if line.scope != "whole_fence" or not line.steps_in:
        return ""
    count, tallest = len(line.steps_in), exact_in(max(line.steps_in), units)
    height = f"of {tallest}" if count == 1 else f"of up to {tallest}"
    return (
        f"On the slope its top runs in {count} step{_s(count)} {height}; "
        f"at the lowest places {exact_in(line.widest_gap_in, units)} stay open under it."
    )


def _old_footings(count: int) -> str:
    if not count:
        return "Old footings stay in the ground unless a line of the price names them."
    return f"{count} old footing{_s(count)} {'is' if count == 1 else 'are'} dug out."


def _system(line: LineFacts, units: str) -> str:
    """Return the fence and its height, which many a system's name says already."""
    if not line.height_in:
        return line.system_name
    tall = length_words(line.height_in, units)
    # Names most often say it in feet, whatever units the firm measures in.
    name = line.system_name.removesuffix(length_words(line.height_in)).removesuffix(tall)
    return f"{name.rstrip(' ,')}, {tall} tall"


def gate_words(gate: GateFacts, line: LineFacts, units: str = US) -> str:
    """Return one gate's opening, leaves, hinges, swing and latch, seen from the finished side."""
    latch = "" if gate.latch in {"", "standard"} else f", {gate.latch.replace('_', ' ')} latch"
    opening = (
        f"Gate {gate.id}: {GATE_USES.get(gate.use, 'gate')}, {_opening(gate, units)} clear, "
        f"{_leaves(gate, units)}, "
    )
    if gate.kind == "slide":
        return (
            f"{opening}slides to the {_hinge_hand(gate, line)} as seen from the finished side, "
            f"moved by hand{latch}."
        )
    return f"{opening}{_hinges(gate, line)}, swings {_swing(gate, line)}{latch}."


def _leaves(gate: GateFacts, units: str) -> str:
    """Return how many leaves a gate has, and the width of each where they differ."""
    if gate.leaves == 1:
        return "one leaf"
    widths = [exact_in(width, units) for width in gate.leaf_widths_in]
    return f"two leaves, {' and '.join(widths)}" if len(set(widths)) > 1 else "two leaves"


def _opening(gate: GateFacts, units: str) -> str:
    """Return a gate's clear opening, a wide one of whole inches in feet too."""
    exact = exact_in(gate.clear_opening_in, units)
    is_wide = gate.clear_opening_in >= WIDE_GATE_IN and gate.clear_opening_in % 1 == 0
    if units == METRIC or not is_wide:
        return exact
    return f"{length_words(gate.clear_opening_in)} ({exact})"


def _hinges(gate: GateFacts, line: LineFacts) -> str:
    if gate.hinge_side == "both" or gate.leaves > 1:
        return "hinged on both sides"
    return f"hinged on the {_hinge_hand(gate, line)} as seen from the finished side"


def _hinge_hand(gate: GateFacts, line: LineFacts) -> str:
    # Who stands left of a line and faces it has its start at the right hand.
    start_hand = OTHER_SIDE[line.finished_face]
    return start_hand if gate.hinge_side == "start" else OTHER_SIDE[start_hand]


def _swing(gate: GateFacts, line: LineFacts) -> str:
    is_outward = (gate.swing == line.finished_face) != (face_looks(line) == INWARD)
    way = "outward" if is_outward else "inward"
    if gate.swing == line.finished_face:
        return f"{way} (toward the finished side)"
    return f"{way} (away from the finished side)"


def _posts(line: LineFacts, units: str) -> str:
    total = sum(line.posts.values())
    if not total:
        return ""
    kinds = post_words(line.posts)
    deep = exact_in(line.hole_depth_in, units)
    if line.least_hole_depth_in < line.hole_depth_in:
        deep = f"{exact_in(line.least_hole_depth_in, units)} to {deep}"
    holes = "planned" if line.setting == DRIVEN else "in holes planned"
    depth = f" {holes} {deep} deep" if line.hole_depth_in else ""
    return f"{total} post{_s(total)} ({kinds}), {line.setting}{depth}."


def post_words(posts: Mapping[str, int]) -> str:
    """Return the posts by where they stand: 2 at ends, 1 at a corner and 9 between."""
    named = [
        f"{count} {POST_PLACES[kind][0 if count == NOT_NEEDING_AN_S else 1]}"
        for kind, count in posts.items()
    ]
    return " and ".join([", ".join(named[:-1]), named[-1]] if len(named) > 1 else named)


def _face(line: LineFacts) -> str:
    ticked = "ticked on the plan" if line.scope == "whole_fence" else ""
    looks = face_looks(line)
    if not looks:
        return f"The finished side is {ticked}." if ticked else ""
    return f"The finished side looks {looks}{f' ({ticked})' if ticked else ''}."


def face_looks(line: LineFacts) -> str:
    """Return where the finished side looks: out of or into what the line goes round, or north."""
    legs = [
        (end[0] - start[0], end[1] - start[1])
        for start, end in pairwise(line.plan_points)
        if end != start
    ]
    turned_deg = sum(_turn_deg(one, other) for one, other in pairwise(legs))
    if abs(turned_deg) > GOES_ROUND_DEG:
        # Who walks round to the right has the inside at the right hand.
        inside = "right" if turned_deg > 0 else "left"
        return INWARD if line.finished_face == inside else OUTWARD
    ways = list(dict.fromkeys(_compass(leg, line.finished_face) for leg in legs))
    return " and ".join(ways) if len(ways) <= MOST_WAYS else ""


def _turn_deg(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Return how far a walker turns between two legs, to the right positive; y points north."""
    cross = one[0] * other[1] - one[1] * other[0]
    return -math.degrees(math.atan2(cross, one[0] * other[0] + one[1] * other[1]))


def _compass(leg: tuple[float, float], face: str) -> str:
    east, north = (-leg[1], leg[0]) if face == "left" else (leg[1], -leg[0])
    bearing_deg = math.degrees(math.atan2(east, north)) % 360
    return COMPASS[round(bearing_deg / (360 / len(COMPASS))) % len(COMPASS)]


def _s(count: int) -> str:
    return "" if count == NOT_NEEDING_AN_S else "s"
