"""The ground along a line: heights at stations, and tape on the hill against level distance."""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from estimating.engine.site import GroundShot, Taped


@dataclass(frozen=True, kw_only=True, slots=True)
class Ground:
    """Knots of the ground's profile: level distance, distance along the grade and height.

    Between knots the ground is straight, beyond the outer ones level.
    """

    level: tuple[float, ...] = ()
    grade: tuple[float, ...] = ()
    elevation: tuple[float, ...] = ()

    def level_at(self, grade_in: float) -> float:
        """Return the level station of a station along the grade."""
        return _follow(self.grade, self.level, grade_in, slope_beyond=1.0)

    def grade_at(self, level_in: float) -> float:
        """Return the station along the grade of a level station."""
        return _follow(self.level, self.grade, level_in, slope_beyond=1.0)

    def elevation_at(self, level_in: float) -> float:
        """Return the ground's height at a level station."""
        return _follow(self.level, self.elevation, level_in, slope_beyond=0.0)


def _follow(xs: Sequence[float], ys: Sequence[float], x: float, *, slope_beyond: float) -> float:
    """Interpolate between knots, with a given slope outside; without knots y is x or 0."""
    if not xs:
        return x * slope_beyond
    if x <= xs[0]:
        return ys[0] + (x - xs[0]) * slope_beyond
    if x >= xs[-1]:
        return ys[-1] + (x - xs[-1]) * slope_beyond
    i = bisect_right(xs, x) - 1
    return ys[i] + (x - xs[i]) * (ys[i + 1] - ys[i]) / (xs[i + 1] - xs[i])


def ground_from(shots: Sequence[GroundShot], taped: Taped) -> tuple[Ground, list[GroundShot]]:
    """Return the profile through the shots, and the shots left out as contradictory.

    A shot contradicts where its station has another height already, or where the rise from the
    shot before it is more than the tape laid along the grade between them.
    """
    level: list[float] = []
    grade: list[float] = []
    elevation: list[float] = []
    odd: list[GroundShot] = []
    last_taped = 0.0
    for shot in sorted(shots, key=lambda each: each.station_in):
        if not level:
            # Level up to the first shot, so both distances agree there.
            level, grade = [shot.station_in], [shot.station_in]
            elevation, last_taped = [shot.elevation_in], shot.station_in
            continue
        run = shot.station_in - last_taped
        rise = shot.elevation_in - elevation[-1]
        if run <= 0 or (taped == "along_grade" and abs(rise) >= run):
            if run > 0 or rise != 0:
                odd.append(shot)
            continue
        level.append(level[-1] + (run if taped == "level" else math.sqrt(run**2 - rise**2)))
        grade.append(grade[-1] + (run if taped == "along_grade" else math.hypot(run, rise)))
        elevation.append(shot.elevation_in)
        last_taped = shot.station_in
    return Ground(level=tuple(level), grade=tuple(grade), elevation=tuple(elevation)), odd
