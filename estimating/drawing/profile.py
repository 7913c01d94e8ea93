"""What an elevation shows of a line, cut into stretches that fit a sheet, and its two scales."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

from estimating.engine.bay_words import height_at
from estimating.engine.heights import fence_top_in, post_top_in
from estimating.engine.result import Bay, GateLayout, LineLayout
from estimating.engine.string_line import StringBay, stands_level, string_over_bays

WIDTH = 720.0
SIDE = 34.0
TOP = 40.0
FOOT = 58.0
HIGHEST = 230.0
# A longer line is drawn in stretches.
LONGEST_IN = 1440.0
# Two units to the inch, and heights at most so many times as large as lengths.
LARGEST_FACTOR = 2.0
TIMES = (4.0, 3.0, 2.0, 1.0)


@dataclass(frozen=True, kw_only=True, slots=True)
class View:
    """How a fence system looks from the side."""

    height_in: float
    gap_in: float
    family: str
    largest_gap_in: float = 8.0

    @property
    def top_in(self) -> float:
        """Return how high the top edge stands over what the fence stands on."""
        return fence_top_in(self.height_in)


def views_of(fence_systems: Mapping[str, Mapping[str, Any]]) -> dict[str, View]:
    """Return how each system of a catalog looks from the side."""
    return {
        key: View(
            height_in=_number(system.get("height_in"), 0.0),
            gap_in=_number(system.get("ground_gap_in"), 2.0),
            family=str(system.get("family", "panel")),
            largest_gap_in=float(system.get("largest_gap_in", 8.0)),
        )
        for key, system in fence_systems.items()
    }


def _number(value: object, without: float) -> float:
    """Return a figure of a system; one that can't be used has no line to be drawn."""
    return float(value) if isinstance(value, int | float) else without


@dataclass(frozen=True, kw_only=True, slots=True)
class Upright:
    """A post from the side: heights on the line's datum; `number` 0 for a wall."""

    number: int
    station_in: float
    width_in: float
    top_in: float
    ground_in: float
    foot_in: float
    is_own: bool
    is_between: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Strip:
    """One stretch of a line as it is drawn. `string` holds the string's height at each bay."""

    view: View
    start_in: float
    end_in: float
    ground: tuple[tuple[float, float], ...]
    posts: tuple[Upright, ...]
    bays: tuple[Bay, ...]
    gates: tuple[GateLayout, ...]
    string: tuple[tuple[float, float], ...]
    string_in: float


class Profile:
    """The scales of a stretch, and where its heights stand on the sheet."""

    def __init__(self, strip: Strip) -> None:
        self.strip = strip
        self.width = WIDTH
        room_in = strip.end_in - strip.start_in
        self._top_in = max(post.top_in for post in strip.posts)
        self._low_in = min(
            *(post.foot_in for post in strip.posts), *(height for _, height in strip.ground)
        )
        high_in = self._top_in - self._low_in
        self.across = min((WIDTH - 2 * SIDE) / room_in, HIGHEST / high_in, LARGEST_FACTOR)
        self.times = next(
            (times for times in TIMES if times * self.across * high_in <= HIGHEST), TIMES[-1]
        )
        self._up = self.across * self.times
        self.foot_y = TOP + high_in * self._up + 12
        self.legend_y = self.foot_y + 20
        self.height = TOP + high_in * self._up + FOOT

    def at(self, station_in: float, height_in: float) -> tuple[float, float]:
        """Return where a station and a height stand in the drawing."""
        return (
            SIDE + (station_in - self.strip.start_in) * self.across,
            TOP + (self._top_in - height_in) * self._up,
        )


def strips_of(
    line: LineLayout, view: View, depths_in: Mapping[int, float], *, string_in: float
) -> list[Strip]:
    """Return a line in stretches, each from a post to a post."""
    bays = sorted(line.bays, key=lambda bay: bay.start_station_in)
    string = _string(line, bays, string_in)
    posts = [*_uprights(line, view, depths_in)]
    strips = []
    for start_in, end_in in _stretches(line, bays):
        shown = [i for i, bay in enumerate(bays) if start_in <= bay.start_station_in < end_in]
        if not shown:
            continue
        strips.append(
            Strip(
                view=view,
                start_in=start_in,
                end_in=end_in,
                ground=_ground(line, start_in, end_in),
                posts=tuple(each for each in posts if start_in <= each.station_in <= end_in),
                bays=tuple(bays[i] for i in shown),
                gates=tuple(g for g in line.gates if start_in <= g.station_in < end_in),
                string=tuple(string[i] for i in shown),
                string_in=string_in,
            )
        )
    return strips


def _stretches(line: LineLayout, bays: Sequence[Bay]) -> Iterator[tuple[float, float]]:
    """Yield where a line is cut: at posts, into stretches of about one length."""
    first_in = min(bays[0].start_station_in, *(post.station_in for post in line.posts))
    last_in = max(
        bays[-1].start_station_in + bays[-1].on_centre_in,
        *(post.station_in for post in line.posts),
    )
    start_in, reached_in = first_in, first_in
    length_in = (last_in - first_in) / ceil((last_in - first_in) / LONGEST_IN)
    for bay in bays:
        end_in = bay.start_station_in + bay.on_centre_in
        if (end_in + bay.start_station_in) / 2 - start_in > length_in and reached_in > start_in:
            yield start_in, reached_in
            start_in = reached_in
        reached_in = end_in
    yield start_in, last_in


def _ground(line: LineLayout, start_in: float, end_in: float) -> tuple[tuple[float, float], ...]:
    inner = tuple(point for point in line.ground if start_in < point[0] < end_in)
    first, last = (height_at(line.ground, each) for each in (start_in, end_in))
    return ((start_in, first), *inner, (end_in, last))


def _string(line: LineLayout, bays: Sequence[Bay], string_in: float) -> list[tuple[float, float]]:
    over = string_over_bays(
        [
            StringBay(
                from_post=bay.from_post,
                to_post=bay.to_post,
                length_in=bay.on_centre_in,
                base_start_in=bay.base_start_in,
                base_end_in=bay.base_end_in,
                is_level=stands_level(bay.follows, bay.because),
            )
            for bay in bays
        ],
        {post.number: post.elevation_in for post in line.posts},
        height_in=string_in,
    )
    return [(start + string_in, end + string_in) for start, end in over]


def _uprights(line: LineLayout, view: View, depths_in: Mapping[int, float]) -> Iterator[Upright]:
    """Yield the line's posts, and what stands at the ends of its bays without being its own."""
    own = {post.station_in for post in line.posts}
    outer = (line.ground[0][0], line.ground[-1][0])
    for post in line.posts:
        high_in = post_top_in(height_in=view.height_in, family=view.family, kind=post.kind)
        yield Upright(
            number=post.number,
            station_in=post.station_in,
            width_in=post.width_in,
            top_in=post.elevation_in + high_in + post.lift_in,
            ground_in=post.elevation_in,
            foot_in=post.elevation_in - depths_in.get(post.number, 0.0),
            is_own=True,
            is_between=post.station_in not in outer,
        )
    for bay in line.bays:
        end_in = bay.start_station_in + bay.on_centre_in
        for number, station_in, base_in in (
            (bay.from_post, bay.start_station_in, bay.base_start_in),
            (bay.to_post, end_in, bay.base_end_in),
        ):
            if station_in not in own:
                ground_in = height_at(line.ground, station_in)
                yield Upright(
                    number=number,
                    station_in=station_in,
                    width_in=0.0,
                    top_in=base_in + view.top_in,
                    ground_in=ground_in,
                    foot_in=ground_in,
                    is_own=False,
                    is_between=False,
                )
