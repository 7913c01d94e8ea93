"""Hours of hanging infill and gates, by bay, foot, piece, terminal and gate."""

from collections.abc import Sequence

from estimating.engine.catalog import FenceSystem
from estimating.engine.infill import counted_pieces
from estimating.engine.pace import Pace
from estimating.engine.result import Bay, GateLayout, LineLayout, Work
from estimating.engine.steepness import Grade


def hang_works(line: LineLayout, system: FenceSystem, pace: Pace) -> list[Work]:
    """Return the work of hanging one line whole: its infill, its fittings and its gates."""
    return [
        *_bay_works(line, system, pace),
        *_terminal_works(line, system, pace),
        *(_gate_work(gate, system, pace) for gate in line.gates),
    ]


def _bay_works(line: LineLayout, system: FenceSystem, pace: Pace) -> list[Work]:
    groups: dict[Grade, list[Bay]] = {}
    for bay in line.bays:
        grade = pace.steepness.grade_of_bay(line.line_id, bay.number)
        groups.setdefault(grade, []).append(bay)
    pieces = _pieces(line, system)
    works = []
    for grade, bays in groups.items():
        part = _part_of_line(bays, line)
        cut = [bay for bay in bays if bay.is_cut]
        for activity, count, unit, of_bays in (
            ("hang_piece", pieces * part, "piece", bays),
            ("hang_bay", len(bays), "bay", bays),
            ("hang_cut_bay", len(cut), "cut bay", cut),
            ("hang_foot", line.fence_ft * part, "ft", bays),
        ):
            if activity in system.labor:
                works.append(
                    pace.work(
                        "hang",
                        system.labor[activity],
                        count,
                        unit,
                        line_id=line.line_id,
                        bays=[bay.number for bay in of_bays],
                        factors=pace.slope(grade),
                    )
                )
    return works


def _part_of_line(bays: Sequence[Bay], line: LineLayout) -> float:
    """Return how much of the line's infill some of its bays are."""
    if len(bays) == len(line.bays):
        return 1.0
    return sum(bay.on_centre_in for bay in bays) / sum(bay.on_centre_in for bay in line.bays)


def _terminal_works(line: LineLayout, system: FenceSystem, pace: Pace) -> list[Work]:
    if "hang_terminal" not in system.labor:
        return []
    groups: dict[Grade, list[int]] = {}
    for post in line.posts:
        if post.kind != "line":
            grade = pace.steepness.grade_of_post(post.number)
            groups.setdefault(grade, []).append(post.number)
    return [
        pace.work(
            "hang",
            system.labor["hang_terminal"],
            len(posts),
            "terminal",
            line_id=line.line_id,
            posts=posts,
            factors=pace.slope(grade),
        )
        for grade, posts in groups.items()
    ]


def _pieces(line: LineLayout, system: FenceSystem) -> float:
    """Return the boards or pickets that are fastened one by one."""
    return sum(
        material.quantity * each
        for material in system.materials
        if material.hung
        for each in counted_pieces(material, line)
    )


def _gate_work(gate: GateLayout, system: FenceSystem, pace: Pace) -> Work:
    rate = system.labor.get(f"gate_{gate.leaves}", "gate.walk")
    if gate.kind == "slide":
        rate = system.labor.get("gate_slide", "gate.cantilever")
    elif gate.use == "pool":
        rate = system.labor.get("gate_pool", "gate.pool")
    return pace.work(
        "gates",
        rate,
        1,
        "gate",
        line_id=gate.line_id,
        gate_id=gate.id,
        posts=[number for number in (gate.from_post, gate.to_post) if number],
        factors=pace.slope(pace.steepness.grade_of_gate(gate.line_id, gate.id)),
    )
