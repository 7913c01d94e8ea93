"""The scope of work in words, made from the layout so that it says what will be built."""

from collections.abc import Mapping

from estimating.services.estimate_facts import EstimateFacts, GateFacts, LineFacts

IN_PER_FT = 12
SIXTEENTHS = 16
NOT_NEEDING_AN_S = 1
GATE_USES = {
    "walk": "walk gate",
    "mower": "mower gate",
    "drive": "drive gate",
    "pool": "pool gate",
    "livestock": "livestock gate",
}
OTHER_SIDE = {"left": "right", "right": "left"}


def length_words(inches: float) -> str:
    """Return a length in feet and whole inches: 24 ft 3 in."""
    feet, rest = divmod(round(inches), IN_PER_FT)
    parts = [f"{feet} ft"] if feet else []
    if rest or not feet:
        parts.append(f"{rest} in")
    return " ".join(parts)


def exact_in(inches: float) -> str:
    """Return inches to the sixteenth: 47 1/2 in."""
    sixteenths = round(inches * SIXTEENTHS)
    whole, part = divmod(sixteenths, SIXTEENTHS)
    if not part:
        return f"{whole} in"
    below = SIXTEENTHS
    while part % 2 == 0:
        part, below = part // 2, below // 2
    return f"{whole} {part}/{below} in" if whole else f"{part}/{below} in"


def scope_text(facts: EstimateFacts) -> str:
    """Return the scope: a paragraph for each line, then what becomes of the soil."""
    paragraphs = [line_words(line) for line in facts.lines]
    if any(line.posts for line in facts.lines):
        paragraphs.append(
            "Soil from the holes is hauled away."
            if facts.hauls_spoil
            else "Soil from the holes is spread on the site."
        )
    return "\n\n".join(paragraphs)


def line_words(line: LineFacts) -> str:
    """Return what is built along one line."""
    where = f"{line.name}, {line.yard} yard"
    if line.scope == "removal":
        return (
            f"{where}: take down {length_words(line.length_in)} of old fence. "
            "Old footings stay in the ground unless a line of the price names them."
        )
    opening = (
        f"{where}: set posts only for {length_words(line.length_in)} of "
        if line.scope == "posts_only"
        else f"{where}: build {length_words(line.length_in)} of "
    )
    sentences = [
        f"{opening}{_system(line)}, gates included in the length."
        if line.gates
        else f"{opening}{_system(line)}."
    ]
    sentences.append(_posts(line))
    sentences.append(_face(line))
    if line.scope == "posts_only":
        sentences.append("Rails, panels, fabric and gates are hung by others.")
    paragraph = " ".join(sentence for sentence in sentences if sentence)
    return "\n".join([paragraph, *(gate_words(gate, line) for gate in line.gates)])


def _system(line: LineFacts) -> str:
    """Return the fence and its height, which many a system's name says already."""
    if not line.height_in:
        return line.system_name
    tall = length_words(line.height_in)
    return f"{line.system_name.removesuffix(f', {tall}')}, {tall} tall"


def gate_words(gate: GateFacts, line: LineFacts) -> str:
    """Return one gate's opening, leaves, hinges, swing and latch, seen from the finished side."""
    leaves = "two leaves" if gate.leaves > 1 else "one leaf"
    latch = "" if gate.latch in {"", "standard"} else f", {gate.latch.replace('_', ' ')} latch"
    return (
        f"Gate {gate.id}: {GATE_USES.get(gate.use, 'gate')}, "
        f"{exact_in(gate.clear_opening_in)} clear, {leaves}, {_hinges(gate, line)}, "
        f"swings {_swing(gate, line)}{latch}."
    )


def _hinges(gate: GateFacts, line: LineFacts) -> str:
    if gate.hinge_side == "both" or gate.leaves > 1:
        return "hinged on both sides"
    # Who stands left of a line and faces it has its start at the right hand.
    start_hand = OTHER_SIDE[line.finished_face]
    hand = start_hand if gate.hinge_side == "start" else OTHER_SIDE[start_hand]
    return f"hinged on the {hand} as seen from the finished side"


def _swing(gate: GateFacts, line: LineFacts) -> str:
    if gate.swing == line.finished_face:
        return "outward (toward the finished side)"
    return "inward (away from the finished side)"


def _posts(line: LineFacts) -> str:
    total = sum(line.posts.values())
    if not total:
        return ""
    kinds = post_words(line.posts)
    depth = f" in holes planned {exact_in(line.hole_depth_in)} deep" if line.hole_depth_in else ""
    return f"{total} post{_s(total)} ({kinds}), set in concrete{depth}."


def post_words(posts: Mapping[str, int]) -> str:
    """Return the posts by kind: 2 end, 1 corner and 9 line."""
    named = [f"{count} {kind}" for kind, count in posts.items()]
    return " and ".join([", ".join(named[:-1]), named[-1]] if len(named) > 1 else named)


def _face(line: LineFacts) -> str:
    return (
        f"Finished face: the {line.finished_face} side, walking the line from its start "
        "(ticked on the plan)."
    )


def _s(count: int) -> str:
    return "" if count == NOT_NEEDING_AN_S else "s"
