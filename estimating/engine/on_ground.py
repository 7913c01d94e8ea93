"""Setting lines laid out on their ground: how each bay follows it, and what its posts carry."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from math import hypot

from estimating.engine.bay_limits import (
    HAIR_IN,
    POOL_GAP_IN,
    READING_IN,
    BayGround,
    Limits,
    choices_of,
    fits_straight,
    grounds_under,
    is_within_rack,
    limits_of,
)
from estimating.engine.catalog import FenceSystem
from estimating.engine.course import STRAIGHT_DEG, Course
from estimating.engine.easing import straightened
from estimating.engine.frames import Frame
from estimating.engine.geometry import PER_INCH
from estimating.engine.products import product_for
from estimating.engine.result import Bay, Follows, FollowsBecause, LineLayout, Post
from estimating.engine.stepping import choose

# A bay this much narrower than a full one still takes a panel as it comes.
FULL_BAY_TOLERANCE_IN = 1 / 32
# Heights are chosen in sixteenths: what differs by less than half of one is no step.
STEP_TOLERANCE_IN = 1 / 24


@dataclass(frozen=True, kw_only=True, slots=True)
class _Stand:
    """What one bay stands on: heights at its start and end, how it follows and why."""

    start_in: float
    end_in: float
    follows: Follows
    because: FollowsBecause


@dataclass(frozen=True, kw_only=True, slots=True)
class _Row:
    """Bays that meet without a gate between, the ground under each and what the office pinned."""

    bays: tuple[Bay, ...]
    under: tuple[BayGround, ...]
    pinned: tuple[Follows, ...]


def on_ground(
    frames: Sequence[Frame], lines: Sequence[LineLayout], *, is_pool: bool
) -> tuple[LineLayout, ...]:
    """Return the lines with their bays and posts set on the ground.

    A post that several lines share carries the tallest bay of all of them. A closed line is
    taken from its first post round to it again: a step there is not counted.
    """
    lifts: dict[int, float] = {}
    bays = [
        _bays_on_ground(frame.course, line, lifts, is_pool=is_pool)
        for frame, line in zip(frames, lines, strict=True)
    ]
    return tuple(
        replace(
            line,
            bays=own,
            posts=tuple(_lifted(post, lifts) for post in line.posts),
            ground=_profile(frame.course),
        )
        if own
        else line
        for frame, line, own in zip(frames, lines, bays, strict=True)
    )


def _lifted(post: Post, lifts: Mapping[int, float]) -> Post:
    lift_in = lifts.get(post.number, 0.0)
    return replace(post, lift_in=lift_in) if abs(lift_in) > HAIR_IN else post


def _profile(course: Course) -> tuple[tuple[float, float], ...]:
    """Return the ground as (station, height) from the fence's first post to its last."""
    ground = course.ground
    if len(ground.level) < 2:
        return ()
    stations = ground.grade if course.system.spacing == "along_grade" else ground.level
    first_in, last_in = course.first_in, course.last_in
    return (
        (first_in, course.elevation_at(first_in)),
        *(
            (station_in, height_in)
            for station_in, height_in in zip(stations, ground.elevation, strict=True)
            if first_in < station_in < last_in
        ),
        (last_in, course.elevation_at(last_in)),
    )


def _bays_on_ground(
    course: Course, line: LineLayout, lifts: dict[int, float], *, is_pool: bool
) -> tuple[Bay, ...]:
    """Return a line's bays on the ground; `lifts` gets what their posts must carry."""
    limits = limits_of(course.system, is_pool=is_pool)
    done: list[Bay] = []
    for row in _rows(course, line.bays):
        stands = _stands(course, row, limits)
        for bay, under, stand in zip(row.bays, row.under, stands, strict=True):
            done.append(_bay_on(course, bay, under, stand, is_pool=is_pool))
            for number, lift_in in (
                (bay.from_post, stand.start_in - under.start_in),
                (bay.to_post, stand.end_in - under.end_in),
            ):
                lifts[number] = max(lift_in, lifts.get(number, lift_in))
    return tuple(done)


def _rows(course: Course, bays: Sequence[Bay]) -> Iterator[_Row]:
    pins = {_pinned_bay(course, bays, pin.station_in): pin.follows for pin in course.line.bay_pins}
    start = 0
    for index, bay in enumerate(bays, start=1):
        end_in = bay.start_station_in + bay.on_centre_in
        if index == len(bays) or bays[index].start_station_in != end_in:
            row = tuple(bays[start:index])
            stations = [course.level_of(each.start_station_in) for each in row]
            yield _Row(
                bays=row,
                under=grounds_under(course.ground, [*stations, course.level_of(end_in)]),
                pinned=tuple(pins.get(each.number, "") for each in row),
            )
            start = index


def _pinned_bay(course: Course, bays: Sequence[Bay], taped_in: float) -> int:
    """Return the number of the bay over a reading of the tape, 0 where there is none."""
    station_in = course.station_of_tape(taped_in)
    for bay in bays:
        if 0 <= station_in - bay.start_station_in < bay.on_centre_in:
            return bay.number
    return 0


def pins_off_bays(course: Course, bays: Sequence[Bay]) -> list[float]:
    """Return the stations of the pins that lie over no bay."""
    stations = [pin.station_in for pin in course.line.bay_pins]
    return [station_in for station_in in stations if not _pinned_bay(course, bays, station_in)]


def _stands(course: Course, row: _Row, limits: Limits) -> list[_Stand]:
    """Return what each bay of a row stands on."""
    if course.system.family == "fabric":
        bases = _follow(course, row, limits, [None] * len(row.bays))
        return [_stand(base, "racked", "fabric") for base in bases]
    if len(course.ground.level) < 2 and not any(row.pinned):
        return [_stand((under.start_in, under.end_in), "level", "no_shots") for under in row.under]
    bays = [
        choices_of(under, limits, pinned)
        for under, pinned in zip(row.under, row.pinned, strict=True)
    ]
    heights = choose(_ground_of(row), bays)
    bases = _follow(course, row, limits, heights)
    return [
        _stand(
            base,
            _follows(bases, i, is_level=heights[i] is not None),
            _because(row, limits, i, base, heights[i]),
        )
        for i, base in enumerate(bases)
    ]


def _stand(base: tuple[float, float], follows: Follows, because: FollowsBecause) -> _Stand:
    return _Stand(start_in=base[0], end_in=base[1], follows=follows, because=because)


def _ground_of(row: _Row) -> list[int]:
    heights = [row.under[0].start_in, *(under.end_in for under in row.under)]
    return [round(height * PER_INCH) for height in heights]


def _follow(
    course: Course, row: _Row, limits: Limits, heights: Sequence[int | None]
) -> list[tuple[float, float]]:
    """Return each bay's base: its level height, or the eased string over bays that follow."""
    bases = [(under.start_in, under.end_in) for under in row.under]
    for i, height in enumerate(heights):
        if height is not None:
            bases[i] = (height / PER_INCH, height / PER_INCH)
    for first, last in _stretches(course, row, heights):
        stretch = row.under[first:last]
        places = [0.0]
        for under in stretch:
            places.append(places[-1] + under.length_in)
        ground = [stretch[0].start_in, *(under.end_in for under in stretch)]
        fits: Callable[[int, Sequence[float]], bool] = partial(fits_straight, stretch, limits)
        bases[first:last] = pairwise(straightened(places, ground, fits))
    return bases


def _stretches(
    course: Course, row: _Row, heights: Sequence[int | None]
) -> Iterator[tuple[int, int]]:
    """Yield the bays that follow the ground one after the other without a turn between."""
    turns = {
        joint.station_in
        for joint in course.inner_joints.values()
        if abs(joint.turn_deg) > STRAIGHT_DEG
    }
    first: int | None = None
    for i, height in enumerate(heights):
        if first is not None and (height is not None or row.bays[i].start_station_in in turns):
            yield first, i
            first = None
        if first is None and height is None:
            first = i
    if first is not None:
        yield first, len(heights)


def _follows(bases: Sequence[tuple[float, float]], i: int, *, is_level: bool) -> Follows:
    """Return how a bay follows: stepped where it is level and meets another bay at a step."""
    start_in, end_in = bases[i]
    if not is_level:
        return "racked" if abs(end_in - start_in) > STEP_TOLERANCE_IN else "level"
    before_in = bases[i - 1][1] if i else start_in
    after_in = bases[i + 1][0] if i + 1 < len(bases) else end_in
    is_step = max(abs(start_in - before_in), abs(after_in - end_in)) > STEP_TOLERANCE_IN
    return "stepped" if is_step else "level"


def _because(
    row: _Row, limits: Limits, i: int, base: tuple[float, float], height: int | None
) -> FollowsBecause:
    under = row.under[i]
    if row.pinned[i]:
        return "pinned"
    rise_in = under.end_in - under.start_in
    if height is None:
        return "within_rack" if abs(base[1] - base[0]) > STEP_TOLERANCE_IN else "even"
    if abs(rise_in) > limits.rack_in + READING_IN:
        return "over_rack"
    if not is_within_rack(limits, under.length_in, rise_in):
        return "panel_too_short"
    return "fewer_steps" if choices_of(under, limits).may_follow else "uneven"


def _bay_on(course: Course, bay: Bay, under: BayGround, stand: _Stand, *, is_pool: bool) -> Bay:
    system = course.system
    least_in, most_in = under.lifts_in(stand.start_in, stand.end_in)
    panel_in, is_cut = bay.panel_in, bay.is_cut
    if system.spacing == "level" and stand.start_in != stand.end_in:
        panel_in, is_cut = _along_the_slope(system, bay, stand.end_in - stand.start_in)
    longer_in = 0.0
    if is_pool:
        longer_in = max(
            0.0, system.ground_gap_in + most_in - max(POOL_GAP_IN, system.ground_gap_in)
        )
    # Not by `replace`, which takes twice as long: this is done for every bay.
    return Bay(
        number=bay.number,
        line_id=bay.line_id,
        section=bay.section,
        from_post=bay.from_post,
        to_post=bay.to_post,
        start_station_in=bay.start_station_in,
        on_centre_in=bay.on_centre_in,
        spacer_in=bay.spacer_in,
        panel_in=panel_in,
        is_cut=is_cut,
        follows=stand.follows,
        because=stand.because,
        base_start_in=stand.start_in,
        base_end_in=stand.end_in,
        largest_gap_in=system.ground_gap_in + most_in,
        least_gap_in=system.ground_gap_in + least_in,
        longer_infill_in=longer_in,
    )


def _along_the_slope(system: FenceSystem, bay: Bay, rise_in: float) -> tuple[float, bool]:
    """Return a racked bay's rail along the slope, and whether it is cut there."""
    along_in = hypot(bay.on_centre_in, rise_in)
    full_in = system.max_on_centre_in - product_for(system, "line").width_in
    racked_in = bay.spacer_in + along_in - bay.on_centre_in
    is_cut = bay.is_cut and racked_in < full_in - FULL_BAY_TOLERANCE_IN - READING_IN
    return bay.panel_in * along_in / bay.on_centre_in, is_cut
