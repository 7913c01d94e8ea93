"""Reading a measured site out of its document: fields first, then what they say together."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args

from estimating.engine.errors import EngineError
from estimating.engine.fields import Entry
from estimating.engine.geometry import Point, bearing_of, legs_of_points
from estimating.engine.reading_marks import (
    FARTHEST_IN,
    read_fixed_point,
    read_ground,
    read_pin,
    read_strip,
)
from estimating.engine.site import (
    Conditions,
    EndKind,
    FenceLine,
    Gate,
    GateKind,
    GateUse,
    LeftOut,
    Leg,
    LineEnd,
    MeasuredAt,
    Scope,
    Side,
    Site,
    Spread,
    Taped,
    Yard,
)
from estimating.engine.wind import Exposure
from firm.measure.lengths import format_ft_in
from firm.measure.units import IN_PER_FT

FORMAT = "firm-footing-site"
VERSION = 1
MOST_LINES = 100
MOST_LEGS = 500
MOST_LEGS_OF_SITE = 1000
MOST_GATES = 100
MOST_OLD_FOOTINGS = 1000
MOST_HOLES = 10_000
LONGEST_DRIVE_MIN = 1440
MOST_SHOTS = 500
MOST_PINS = 500
LONGEST_LEG_IN = 10_000 * IN_PER_FT
LONGEST_SITE_IN = 50_000 * IN_PER_FT
FEWEST_LEGS_OF_LOOP = 3
# Read elsewhere: the catalog's data, and what the office typed.
BESIDE_THE_SITE = ("fence_systems", "prices", "rates", "rules", "typed_lines", "overrides")


def read_site(document: Mapping[str, Any], *, leave_out: bool = False) -> Site:
    """Return the site that a document holds.

    With `leave_out` a line that can't be read goes to the site's `left_out` with its reason, and
    gates that don't fit are left to the layout's findings, so that the rest can be worked out.

    Raises:
        EngineError: a field is missing, unknown, of the wrong kind or out of range, or two of
            them contradict each other; the error names the field's path.
    """
    entry = Entry(document, "")
    entry.choice("format", (FORMAT,))
    version = entry.whole("version", low=1, high=10**6)
    if version != VERSION:
        raise entry.refuse("version", f"is {version}, and only version {VERSION} can be read.")
    for name in BESIDE_THE_SITE:
        entry.has(name)
    name, notes = entry.text("name"), entry.text("notes", "", longest=10_000)
    conditions = _conditions(entry.entry("conditions", {}))
    values = entry.items("lines", most=MOST_LINES, required=True)
    if not values:
        raise EngineError("lines must hold at least one line.", field="lines")
    entry.finish()
    left_out: list[LeftOut] = []
    if leave_out:
        lines = tuple(_sound_lines(values, left_out))
        _check_size(lines)
    else:
        lines = tuple(_line(each) for each in entry.entries("lines", most=MOST_LINES))
        _check_together(lines)
    return Site(
        name=name, notes=notes, conditions=conditions, lines=lines, left_out=tuple(left_out)
    )


def _sound_lines(values: Sequence[Any], left_out: list[LeftOut]) -> Iterator[FenceLine]:
    """Yield the lines that can be worked out, and note the others.

    Where no line is left the first one's refusal stands.
    """
    ids: set[str] = set()
    for i, value in enumerate(values):
        path, name = f"lines[{i}]", str(i + 1)
        try:
            entry = Entry(value, path)
            name = entry.called("id") or name
            line = _line(entry)
            _check_loop(line, path)
            _check_gate_ids(line, path)
            if line.id in ids:
                _refuse(f"{path}.id", f"'{line.id}' is taken by another line.")
        except EngineError as error:
            left_out.append(LeftOut(line_id=name, field=error.field, reason=str(error)))
            if len(left_out) == len(values):
                first = left_out[0]
                raise EngineError(first.reason, field=first.field) from error
        else:
            ids.add(line.id)
            yield line


def _conditions(entry: Entry) -> Conditions:
    conditions = Conditions(
        frost_depth_in=entry.number("frost_depth_in", 0.0, high=120),
        local_hole_depth_in=entry.number("local_hole_depth_in", 0.0, high=120),
        soil_class=entry.text("soil_class", "normal", longest=40),
        dig_method=entry.text("dig_method", "two_man_auger", longest=40),
        hand_dig_tolerance_in=entry.number("hand_dig_tolerance_in", 24.0, high=120),
        height_limit_front_in=entry.positive("height_limit_front_in", None, high=600),
        height_limit_side_in=entry.positive("height_limit_side_in", None, high=600),
        height_limit_rear_in=entry.positive("height_limit_rear_in", None, high=600),
        setback_in=entry.number("setback_in", 0.0, high=12_000),
        permit_fee=str(entry.amount("permit_fee", "0")),
        spoil=entry.choice("spoil", ("spread", "haul"), "spread"),
        long_barrow=entry.flag("long_barrow"),
        access_width_in=entry.positive("access_width_in", None, high=1200),
        rock_holes=entry.whole("rock_holes", 0, high=MOST_HOLES),
        wet_holes=entry.whole("wet_holes", 0, high=MOST_HOLES),
        frozen_ground=entry.flag("frozen_ground"),
        drive_min=entry.number("drive_min", 0.0, high=LONGEST_DRIVE_MIN),
        pool_barrier=entry.flag("pool_barrier"),
        pool_height_in=entry.positive("pool_height_in", None, high=240),
        pool_gap_in=entry.number("pool_gap_in", None, high=24),
        pool_latch_in=entry.positive("pool_latch_in", None, high=240),
        pool_latch_on_pool_side=entry.flag("pool_latch_on_pool_side"),
        sight_leg_in=entry.positive("sight_leg_in", None, high=12_000),
        sight_low_in=entry.number("sight_low_in", 36.0, high=600),
        sight_high_in=entry.number("sight_high_in", 0.0, high=1200),
        sight_corner_x_in=entry.number("sight_corner_x_in", None, low=-FARTHEST_IN, high=1e7),
        sight_corner_y_in=entry.number("sight_corner_y_in", None, low=-FARTHEST_IN, high=1e7),
        sight_first_bearing_deg=entry.number("sight_first_bearing_deg", 90.0, low=-360, high=360),
        sight_second_bearing_deg=entry.number("sight_second_bearing_deg", 0.0, low=-360, high=360),
        wind_speed_mph=entry.positive("wind_speed_mph", None, high=250),
        exposure=entry.choice("exposure", get_args(Exposure), "B"),
        trips=entry.whole("trips", 0, high=100),
    )
    entry.finish()
    return conditions


def _line(entry: Entry) -> FenceLine:
    line_id = entry.text("id", longest=20)
    legs, start, bearing_deg = _course(entry)
    line = FenceLine(
        id=line_id,
        name=entry.text("name", f"Line {line_id}"),
        system=entry.text("system", longest=80),
        legs=legs,
        scope=entry.choice("scope", get_args(Scope), "whole_fence"),
        yard=entry.choice("yard", get_args(Yard), "rear"),
        finished_face=entry.choice("finished_face", get_args(Side), "left"),
        taped=entry.choice("taped", get_args(Taped), "level"),
        division=entry.choice("division", get_args(Spread), ""),
        start=_end(entry.entry("start", {})),
        end=_end(entry.entry("end", {})),
        closed=entry.flag("closed"),
        start_x_in=start[0],
        start_y_in=start[1],
        bearing_deg=bearing_deg,
        ground=read_ground(entry, most=MOST_SHOTS),
        gates=tuple(_gate(each) for each in entry.entries("gates", most=MOST_GATES)),
        no_dig=tuple(read_strip(each) for each in entry.entries("no_dig", most=MOST_GATES)),
        bay_pins=tuple(read_pin(each) for each in entry.entries("bay_pins", most=MOST_PINS)),
        rail_stiffener=entry.flag("rail_stiffener", True),
        fixed_points=tuple(
            read_fixed_point(each) for each in entry.entries("fixed_points", most=MOST_GATES)
        ),
        old_footings=entry.whole("old_footings", 0, high=MOST_OLD_FOOTINGS),
    )
    entry.finish()
    return line


def _course(entry: Entry) -> tuple[tuple[Leg, ...], Point, float]:
    """Return the legs, start point and first bearing, given as such or by points."""
    if entry.has("points") and entry.has("legs"):
        raise entry.refuse("points", "can't be given beside legs: give one or the other.")
    if entry.has("points"):
        return _course_of_points(entry)
    legs = tuple(_leg(each) for each in entry.entries("legs", most=MOST_LEGS, required=True))
    if not legs:
        raise entry.refuse("legs", "must hold at least one leg.")
    start = (
        entry.number("start_x_in", 0.0, low=-FARTHEST_IN, high=FARTHEST_IN),
        entry.number("start_y_in", 0.0, low=-FARTHEST_IN, high=FARTHEST_IN),
    )
    return legs, start, entry.number("bearing_deg", 90.0, low=-360, high=360)


def _course_of_points(entry: Entry) -> tuple[tuple[Leg, ...], Point, float]:
    for name in ("start_x_in", "start_y_in", "bearing_deg"):
        if entry.has(name):
            raise entry.refuse(name, "can't be given beside points, which say it already.")
    points = [_point(each) for each in entry.entries("points", most=MOST_LEGS + 1)]
    if len(points) < 2:
        raise entry.refuse("points", "must hold at least two points.")
    legs: list[Leg] = []
    for i, (length_in, turn_deg) in enumerate(legs_of_points(points)):
        if not 1 / 16 <= length_in <= LONGEST_LEG_IN:
            reason = f"must be from 1/16 in to {format_ft_in(LONGEST_LEG_IN)} from the one before."
            raise entry.refuse(f"points[{i + 1}]", reason)
        legs.append(Leg(length_in=length_in, turn_deg=turn_deg))
    return tuple(legs), points[0], bearing_of(points[0], points[1])


def _point(entry: Entry) -> Point:
    point = (
        entry.number("x_in", low=-FARTHEST_IN, high=FARTHEST_IN),
        entry.number("y_in", low=-FARTHEST_IN, high=FARTHEST_IN),
    )
    entry.finish()
    return point


def _leg(entry: Entry) -> Leg:
    leg = Leg(
        length_in=entry.positive("length_in", high=LONGEST_LEG_IN),
        turn_deg=entry.number("turn_deg", 0.0, low=-180, high=180),
    )
    entry.finish()
    return leg


def _end(entry: Entry) -> LineEnd:
    kind = entry.choice("kind", get_args(EndKind), "post")
    taped_to = "wall_face" if kind == "wall" else "post_centre"
    measured_at = entry.choice("measured_at", get_args(MeasuredAt), taped_to)
    if kind == "wall" and measured_at != "wall_face":
        raise entry.refuse("measured_at", f"must be wall_face at a wall, not {measured_at}.")
    end = LineEnd(
        kind=kind,
        measured_at=measured_at,
        shared_line=entry.text("shared_line", "", longest=20),
        shared_at=entry.text("shared_at", "", longest=20),
    )
    if kind == "shared_post" and not (end.shared_line and end.shared_at):
        missing = "shared_at" if end.shared_line else "shared_line"
        raise entry.refuse(missing, "is missing: name the line and its post that serves here.")
    entry.finish()
    return end


def _gate(entry: Entry) -> Gate:
    leaves = entry.whole("leaves", 1, low=1, high=2)
    gate = Gate(
        id=entry.text("id", longest=20),
        station_in=entry.number("station_in", high=LONGEST_SITE_IN),
        clear_opening_in=entry.positive("clear_opening_in", high=LONGEST_LEG_IN),
        leaves=leaves,
        use=entry.choice("use", get_args(GateUse), "walk"),
        hinge_side=entry.choice(
            "hinge_side", ("start", "end", "both"), "start" if leaves == 1 else "both"
        ),
        swing=entry.choice("swing", get_args(Side), "left"),
        latch=entry.text("latch", "standard", longest=80),
        kind=entry.choice("kind", get_args(GateKind), "swing"),
        first_leaf_in=entry.positive("first_leaf_in", None, high=LONGEST_LEG_IN),
    )
    entry.finish()
    _check_leaves(entry, gate)
    return gate


def _check_leaves(entry: Entry, gate: Gate) -> None:
    if gate.kind == "slide" and (gate.leaves != 1 or gate.hinge_side == "both"):
        raise entry.refuse("kind", "slide has one leaf, and its rollers stand at start or end.")
    if gate.first_leaf_in is not None and gate.leaves != 2:
        raise entry.refuse("first_leaf_in", "belongs to a gate of two leaves.")


def _check_together(lines: Sequence[FenceLine]) -> None:
    _check_size(lines)
    by_id: dict[str, FenceLine] = {}
    for i, line in enumerate(lines):
        if line.id in by_id:
            _refuse(f"lines[{i}].id", f"'{line.id}' is taken by another line.")
        by_id[line.id] = line
    for i, line in enumerate(lines):
        path = f"lines[{i}]"
        _check_loop(line, path)
        _check_gates(line, path)
        for name, end in (("start", line.start), ("end", line.end)):
            if end.kind == "shared_post":
                _check_shared(line, end, by_id, f"{path}.{name}")


def _check_size(lines: Sequence[FenceLine]) -> None:
    legs = sum(len(line.legs) for line in lines)
    if legs > MOST_LEGS_OF_SITE:
        _refuse("lines", f"hold {legs:,} legs, and a site can have {MOST_LEGS_OF_SITE:,}.")
    length_in = sum(leg.length_in for line in lines for leg in line.legs)
    if length_in > LONGEST_SITE_IN:
        _refuse("lines", f"are longer than {LONGEST_SITE_IN / IN_PER_FT:,.0f} ft together.")


def _check_loop(line: FenceLine, path: str) -> None:
    if not line.closed:
        return
    if len(line.legs) < FEWEST_LEGS_OF_LOOP:
        _refuse(f"{path}.legs", f"of a closed line must be {FEWEST_LEGS_OF_LOOP} or more.")
    for name, end in (("start", line.start), ("end", line.end)):
        if end.kind != "post":
            _refuse(f"{path}.{name}.kind", "must be post on a closed line.")
        if end.measured_at != "post_centre":
            _refuse(f"{path}.{name}.measured_at", "must be post_centre on a closed line.")


def _check_gates(line: FenceLine, path: str) -> None:
    longest_in = max(leg.length_in for leg in line.legs)
    length_in = sum(leg.length_in for leg in line.legs)
    _check_gate_ids(line, path)
    for j, gate in enumerate(line.gates):
        at = f"{path}.gates[{j}]"
        if gate.clear_opening_in > longest_in:
            opening, leg = format_ft_in(gate.clear_opening_in), format_ft_in(longest_in)
            _refuse(
                f"{at}.clear_opening_in",
                f"of gate {gate.id} is {opening}, longer than any leg of its line ({leg} at most).",
            )
        if gate.station_in > length_in:
            _refuse(
                f"{at}.station_in",
                f"of gate {gate.id} lies past the line's end at {format_ft_in(length_in)}.",
            )


def _check_gate_ids(line: FenceLine, path: str) -> None:
    ids: set[str] = set()
    for j, gate in enumerate(line.gates):
        if gate.id in ids:
            _refuse(f"{path}.gates[{j}].id", f"'{gate.id}' is taken by another gate of the line.")
        ids.add(gate.id)


def _check_shared(line: FenceLine, end: LineEnd, by_id: Mapping[str, FenceLine], path: str) -> None:
    owner = by_id.get(end.shared_line)
    if owner is None or owner is line:
        _refuse(f"{path}.shared_line", f"names no other line: '{end.shared_line}'.")
        return
    if owner.scope == "removal":
        _refuse(f"{path}.shared_line", f"names line {owner.id}, which is only removed.")
    if end.shared_at in ("start", "end"):
        owners_end = owner.start if end.shared_at == "start" else owner.end
        if owners_end.kind != "post":
            _refuse(
                f"{path}.shared_at",
                f"names the {end.shared_at} of line {owner.id}, which has no post of its own.",
            )
        return
    corners = {f"corner {number}" for number in range(1, len(owner.legs))}
    if end.shared_at not in corners:
        _refuse(
            f"{path}.shared_at",
            f"must be start, end or corner 1 to {len(owner.legs) - 1} of line {owner.id}, "
            f"not '{end.shared_at}'.",
        )


def _refuse(field: str, reason: str) -> None:
    raise EngineError(f"{field} {reason}", field=field)
