"""How far apart posts may stand on a slope: a panel of fixed rails keeps its length as it racks."""

import math
from dataclasses import replace

from estimating.engine.catalog import FenceSystem
from estimating.engine.course import Course
from estimating.engine.geometry import PER_INCH


def level_on_centre_in(panel_in: float, rise_in: float) -> float:
    """Return the level distance that a panel spans as it rises: sqrt(R^2 - rise^2)."""
    return math.sqrt(max(0.0, panel_in**2 - rise_in**2))


def spaced_on(course: Course, start_in: float, end_in: float) -> FenceSystem:
    """Return the line's system with its largest spacing as the ground of a stretch allows.

    Rails that are cut on site don't care. Ready-made panels may stand no farther apart than the
    steepest place of the stretch where they rack leaves them, so that one spacing serves it all.
    """
    system = course.system
    if system.rails != "fixed" or len(course.ground.level) < 2:
        return system
    rise_in = min(system.max_rack_in, _largest_rise_in(course, start_in, end_in))
    spaced_in = level_on_centre_in(system.max_on_centre_in, rise_in)
    if spaced_in >= system.max_on_centre_in:
        return system
    # Rounded down to the grid, but not by a whole sixteenth for a hair of float error.
    return replace(system, max_on_centre_in=math.floor(spaced_in * PER_INCH + 1e-6) / PER_INCH)


def _largest_rise_in(course: Course, start_in: float, end_in: float) -> float:
    """Return the most that the ground rises or falls over one full panel anywhere in a stretch.

    The ground is straight between its knots, so the most lies where a panel begins or ends at
    one of them, or at the stretch's ends.
    """
    reach_in = min(course.system.max_on_centre_in, end_in - start_in)
    knots = [each for each in course.ground.level if start_in <= each <= end_in]
    starts = (*knots, *(each - reach_in for each in knots), start_in, end_in - reach_in)
    return max(
        abs(course.elevation_at(each + reach_in) - course.elevation_at(each))
        for each in starts
        if start_in <= each <= end_in - reach_in
    )
