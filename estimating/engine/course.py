"""The course of a line in plan: its joints, and where a station along it lies."""

import math
from bisect import bisect_right
from dataclasses import dataclass, replace
from functools import cached_property

from estimating.engine.catalog import FenceSystem
from estimating.engine.geometry import PER_INCH, Point, step_from, to_grid, turn_between
from estimating.engine.ground import Ground, ground_from
from estimating.engine.products import product_for
from estimating.engine.site import FenceLine, GroundShot, LineEnd

STRAIGHT_DEG = 0.01


@dataclass(frozen=True, kw_only=True, slots=True)
class Joint:
    """Where two legs meet, or the line starts or ends: its station and place in plan."""

    station_in: float
    level_in: float
    point: Point
    turn_deg: float


@dataclass(frozen=True, kw_only=True)
class Course:
    """One line on the ground. Stations count from the tape's zero at the line's start.

    They are level distances, or distances along the grade where the system is spaced so.
    `first_in` and `last_in` are where the fence really starts and ends: at the centres of the
    end posts or at a wall's face, half a post from the tape's point where it was held to a face.
    """

    line: FenceLine
    system: FenceSystem
    ground: Ground
    odd_shots: tuple[GroundShot, ...]
    joints: tuple[Joint, ...]
    bearings: tuple[float, ...]
    first_in: float
    last_in: float

    @cached_property
    def _joint_levels(self) -> list[float]:
        return [joint.level_in for joint in self.joints]

    @cached_property
    def inner_joints(self) -> dict[int, Joint]:
        """Return the joints between the line's ends by number, from 1.

        A leg shorter than half a post can leave its joint behind the end post; such a joint is
        left out, and the posts that overlap there are a finding.
        """
        return {
            number: joint
            for number, joint in enumerate(self.joints[1:-1], start=1)
            if self.first_in < joint.station_in < self.last_in
        }

    def station_of_tape(self, taped_in: float) -> float:
        """Return the station, on the grid, of a reading on the tape."""
        return to_grid(self._station_of_level(self._level_of_tape(taped_in)))

    def level_of(self, station_in: float) -> float:
        """Return the level distance of a station."""
        if self.system.spacing == "along_grade":
            return self.ground.level_at(station_in)
        return station_in

    def point_at(self, station_in: float) -> Point:
        """Return a station's place in plan; beyond the ends the outer legs run on."""
        level_in = self.level_of(station_in)
        i = self._leg_at(level_in)
        joint = self.joints[i]
        return step_from(joint.point, self.bearings[i], level_in - joint.level_in)

    def elevation_at(self, station_in: float) -> float:
        """Return the ground's height at a station."""
        return self.ground.elevation_at(self.level_of(station_in))

    def bearing_after(self, station_in: float) -> float:
        """Return the bearing of the leg that leaves a station."""
        return self.bearings[self._leg_at(self.level_of(station_in))]

    def bearing_before(self, station_in: float) -> float:
        """Return the bearing of the leg that reaches a station."""
        return self.bearings[self._leg_at(self.level_of(station_in), hair=-1e-6)]

    def _leg_at(self, level_in: float, hair: float = 1e-6) -> int:
        i = bisect_right(self._joint_levels, level_in + hair) - 1
        return min(max(i, 0), len(self.bearings) - 1)

    def _level_of_tape(self, taped_in: float) -> float:
        if self.line.taped == "along_grade":
            return self.ground.level_at(taped_in)
        return taped_in

    def _station_of_level(self, level_in: float) -> float:
        if self.system.spacing == "along_grade":
            return self.ground.grade_at(level_in)
        return level_in


def lay_course(line: FenceLine, system: FenceSystem, first_centre: Point | None = None) -> Course:
    """Lay a line in plan, from its own start point or from the centre of another line's post."""
    ground, odd_shots = ground_from(line.ground, line.taped)
    half_in = product_for(system, "end").width_in / 2
    out_in = 0.0 if line.closed else _outwards_in(line.start, half_in)
    start = (line.start_x_in, line.start_y_in)
    if first_centre is not None:
        start = step_from(first_centre, line.bearing_deg, out_in)
    joints, bearings = _joints_of(line, system, ground, start)
    first_in, last_in = to_grid(-out_in), joints[-1].station_in
    if not line.closed:
        last_in = to_grid(last_in + _outwards_in(line.end, half_in))
    return Course(
        line=line,
        system=system,
        ground=ground,
        odd_shots=tuple(odd_shots),
        joints=joints,
        bearings=bearings,
        first_in=first_in,
        # However short, a line ends beyond its start; posts that overlap are a finding.
        last_in=max(last_in, first_in + 1 / PER_INCH),
    )


def _joints_of(
    line: FenceLine, system: FenceSystem, ground: Ground, start: Point
) -> tuple[tuple[Joint, ...], tuple[float, ...]]:
    """Return the joints of the legs, their stations on the grid, and the legs' bearings."""
    spaced_along = system.spacing == "along_grade"
    joints = [Joint(station_in=0.0, level_in=0.0, point=start, turn_deg=0.0)]
    bearings: list[float] = []
    taped_in, bearing = 0.0, line.bearing_deg
    for i, leg in enumerate(line.legs):
        if i:
            bearing += leg.turn_deg
            joints[-1] = replace(joints[-1], turn_deg=leg.turn_deg)
        bearings.append(bearing % 360)
        taped_in += to_grid(leg.length_in)
        level_in = ground.level_at(taped_in) if line.taped == "along_grade" else taped_in
        station_in = to_grid(ground.grade_at(level_in) if spaced_along else level_in)
        level_in = ground.level_at(station_in) if spaced_along else station_in
        point = step_from(joints[-1].point, bearing, level_in - joints[-1].level_in)
        joints.append(Joint(station_in=station_in, level_in=level_in, point=point, turn_deg=0.0))
    return tuple(joints), tuple(bearings)


def station_named(course: Course, name: str) -> float | None:
    """Return the station of a line's start, end or joint ("corner N")."""
    if name in ("start", "end"):
        return course.first_in if name == "start" else course.last_in
    number = int(name.removeprefix("corner ")) if name.removeprefix("corner ").isdecimal() else 0
    is_joint = 0 < number < len(course.joints) - 1
    return course.joints[number].station_in if is_joint else None


def closing_turn_deg(course: Course) -> float:
    """Return the turn that a closed line makes at its start."""
    return turn_between(course.bearings[-1], course.bearings[0])


def closing_gap_in(course: Course) -> float:
    """Return how far a closed line's last leg ends from its start."""
    return math.dist(course.joints[0].point, course.joints[-1].point)


def _outwards_in(end: LineEnd, half_in: float) -> float:
    """Return how far outside the tape's point the fence ends.

    A post beside a wall that was taped from the wall's face touches it with its outer face.
    """
    if end.kind == "wall" or end.measured_at == "post_centre":
        return 0.0
    return half_in if end.measured_at == "inner_face" else -half_in
