"""The elevation of a line: its ground, string, posts and bays from the side, steps and gaps."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from html import escape
from itertools import pairwise

from estimating.drawing import marks
from estimating.drawing.labels import Label, Paper
from estimating.drawing.profile import Profile, Strip, View, strips_of
from estimating.engine.bay_words import height_at
from estimating.engine.result import Bay, LineLayout
from firm.measure.written import US, how_many, long_length, short_length

# The string's height over the ground where a job says nothing else (common practice, no source).
STRING_IN = 12.0
GROUND = "#6b5a36"
STRING = "#1f5a92"
PANEL = "#f1ede2"
WORD_SIZE = 10.5
# A step that no tape reads is none, and a gap this near the usual one needs no figure.
READABLE_IN = 1 / 16
WORTH_SAYING_IN = 1.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Elevation:
    """One drawing: the line, or a stretch of a long one, and its SVG."""

    name: str
    svg: str


def elevations(
    lines: Sequence[LineLayout],
    views: Mapping[str, View],
    *,
    depths_in: Mapping[int, float],
    units: str = US,
    string_in: float = STRING_IN,
    id_prefix: str = "elevation",
) -> list[Elevation]:
    """Return the drawings of every line whose ground was measured, long lines in stretches.

    `views` says of each fence system how it looks from the side, `depths_in` how deep each post
    stands.
    """
    drawn = []
    for line in lines:
        if not line.ground or not line.bays or line.scope == "removal":
            continue
        view = views[line.system]
        strips = strips_of(line, view, depths_in, string_in=string_in)
        for part, strip in enumerate(strips):
            name = _name(line, strip, units, is_part=len(strips) > 1)
            prefix = f"{id_prefix}-{line.line_id}-{part}"
            drawn.append(Elevation(name=name, svg=_svg(strip, name, units, prefix)))
    return drawn


def _name(line: LineLayout, strip: Strip, units: str, *, is_part: bool) -> str:
    if not is_part:
        return line.name
    start, end = (long_length(at_in, units) for at_in in (strip.start_in, strip.end_in))
    return f"{line.name}, {start} to {end}"


def _svg(strip: Strip, name: str, units: str, prefix: str) -> str:
    profile = Profile(strip)
    paper = Paper(width=profile.width, height=profile.height)
    parts = [
        *_panels(profile),
        *_gates(profile),
        *_ground(profile),
        *_posts(profile),
        *_string(profile),
    ]
    words = [*_numbers(profile, paper), *_steps(profile, paper, units)]
    words += [*_gaps(profile, paper, units), *_stations(profile, paper, units)]
    width, height = marks.number(profile.width), marks.number(profile.height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img"'
        f' class="plan elevation" aria-labelledby="{prefix}-title {prefix}-about">'
        f'<title id="{prefix}-title">Elevation of {escape(name)}</title>'
        f'<desc id="{prefix}-about">{escape(_about(strip, units))}</desc>'
        f'<rect width="{width}" height="{height}" fill="{marks.PAPER}"/>'
        f"{''.join(parts)}{''.join(words)}{_legend(profile, units)}</svg>"
    )


def _polygon(points: Sequence[tuple[float, float]], *, fill: str) -> str:
    corners = " ".join(f"{marks.number(x)},{marks.number(y)}" for x, y in points)
    return f'<polygon points="{corners}" fill="{fill}" stroke="{marks.SOFT}" stroke-width="0.8"/>'


def _path(points: Sequence[tuple[float, float]], *, colour: str, width: float, dashes: str) -> str:
    corners = " ".join(f"{marks.number(x)},{marks.number(y)}" for x, y in points)
    dash = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<polyline points="{corners}" fill="none" stroke="{colour}"'
        f' stroke-width="{marks.number(width)}"{dash}/>'
    )


def _panels(profile: Profile) -> Iterator[str]:
    view = profile.strip.view
    for bay in profile.strip.bays:
        start_in, end_in = bay.start_station_in, bay.start_station_in + bay.on_centre_in
        corners = [
            profile.at(start_in, bay.base_start_in + view.gap_in),
            profile.at(start_in, bay.base_start_in + view.top_in),
            profile.at(end_in, bay.base_end_in + view.top_in),
            profile.at(end_in, bay.base_end_in + view.gap_in),
        ]
        yield _polygon(corners, fill=PANEL)


def _gates(profile: Profile) -> Iterator[str]:
    view = profile.strip.view
    for gate in profile.strip.gates:
        ends = (gate.station_in, gate.station_in + gate.clear_opening_in)
        base_in = max(height_at(profile.strip.ground, end) for end in ends)
        (left, top), (right, low) = (
            profile.at(ends[0], base_in + view.top_in),
            profile.at(ends[1], base_in + view.gap_in),
        )
        for start, end in pairwise([(left, low), (left, top), (right, top), (right, low)]):
            yield marks.line(*start, *end, dashes="4 3", colour=marks.SOFT)
        yield marks.line(left, low, right, top, dashes="4 3", colour=marks.SOFT)
        yield marks.words(f"Gate {gate.id}", (left + right) / 2, (top + low) / 2, size=WORD_SIZE)


def _ground(profile: Profile) -> Iterator[str]:
    points = [profile.at(*point) for point in profile.strip.ground]
    yield _path(points, colour=GROUND, width=2.2, dashes="")
    for (x1, y1), (x2, y2) in pairwise(points):
        count = max(1, int((x2 - x1) // 14))
        for i in range(count):
            x = x1 + (x2 - x1) * (i + 0.5) / count
            y = y1 + (y2 - y1) * (i + 0.5) / count
            yield marks.line(x, y + 1, x - 5, y + 7, width=0.9, colour=GROUND)


def _posts(profile: Profile) -> Iterator[str]:
    for post in profile.strip.posts:
        x, top = profile.at(post.station_in, post.top_in)
        _, foot = profile.at(post.station_in, post.foot_in)
        _, grass = profile.at(post.station_in, post.ground_in)
        colour = marks.INK if post.is_own else marks.STONE
        wide = max(2.5, post.width_in * profile.across)
        yield marks.line(x, top, x, grass, width=wide, colour=colour)
        yield marks.line(x, grass, x, foot, width=wide, colour=marks.STONE, dashes="3 2")


def _string(profile: Profile) -> Iterator[str]:
    runs: list[list[tuple[float, float]]] = []
    for bay, (start_in, end_in) in zip(profile.strip.bays, profile.strip.string, strict=True):
        start = profile.at(bay.start_station_in, start_in)
        end = profile.at(bay.start_station_in + bay.on_centre_in, end_in)
        if runs and max(abs(a - b) for a, b in zip(runs[-1][-1], start, strict=True)) < 0.5:
            runs[-1].append(end)
        else:
            runs.append([start, end])
    for run in runs:
        yield _path(run, colour=STRING, width=1.2, dashes="7 4")


def _numbers(profile: Profile, paper: Paper) -> Iterator[str]:
    """Yield the posts' numbers over their tops and the fence's, as far as there is room."""
    fence_in: dict[float, float] = {}
    for bay in profile.strip.bays:
        end_in = bay.start_station_in + bay.on_centre_in
        for at_in, base_in in (
            (bay.start_station_in, bay.base_start_in),
            (end_in, bay.base_end_in),
        ):
            top_in = base_in + profile.strip.view.top_in
            fence_in[at_in] = max(top_in, fence_in.get(at_in, top_in))
    for post in profile.strip.posts:
        highest_in = max(post.top_in, fence_in.get(post.station_in, post.top_in))
        x, top = profile.at(post.station_in, highest_in)
        if post.number:
            yield from _placed(paper, (str(post.number),), x, top - 9)


def _placed(
    paper: Paper,
    texts: Sequence[str],
    x: float,
    y: float,
    *,
    colour: str = marks.SOFT,
    bold: bool = False,
) -> Iterator[str]:
    """Yield the first of the texts that has room, rather shorter here than farther off."""
    places = [
        Label(text=text, x=x, y=y + down, size=WORD_SIZE)
        for down in (0, -13, 13, -26)
        for text in texts
    ]
    label = paper.place(places)
    if label:
        yield marks.words(label.text, label.x, label.y, size=WORD_SIZE, colour=colour, bold=bold)


def _steps(profile: Profile, paper: Paper, units: str) -> Iterator[str]:
    view = profile.strip.view
    for station_in, before_in, after_in in _step_places(profile.strip.bays):
        x, upper = profile.at(station_in, max(before_in, after_in) + view.top_in)
        step = short_length(abs(after_in - before_in), units)
        texts = (f"step {step}", step)
        yield from _placed(paper, texts, x, upper - 22, colour=marks.STOP, bold=True)


def _step_places(bays: Sequence[Bay]) -> Iterator[tuple[float, float, float]]:
    """Yield where the fence steps: the station, and what the bays before and after stand on."""
    for before, after in pairwise(bays):
        is_next = before.to_post == after.from_post
        if is_next and abs(before.base_end_in - after.base_start_in) > READABLE_IN:
            yield after.start_station_in, before.base_end_in, after.base_start_in


def _gaps(profile: Profile, paper: Paper, units: str) -> Iterator[str]:
    """Yield the largest gap under each bay where it is not the usual one."""
    view = profile.strip.view
    for bay in profile.strip.bays:
        if bay.largest_gap_in - view.gap_in < WORTH_SAYING_IN:
            continue
        middle_in = bay.start_station_in + bay.on_centre_in / 2
        x, y = profile.at(middle_in, height_at(profile.strip.ground, middle_in))
        gap = short_length(bay.largest_gap_in, units)
        is_over = bay.largest_gap_in > view.largest_gap_in + READABLE_IN
        colour = marks.STOP if is_over else marks.SOFT
        yield from _placed(paper, (f"gap {gap}", gap), x, y + 18, colour=colour)


def _stations(profile: Profile, paper: Paper, units: str) -> Iterator[str]:
    for post in sorted(profile.strip.posts, key=lambda each: each.is_between):
        x, _ = profile.at(post.station_in, post.foot_in)
        label = paper.place(
            [
                Label(
                    text=long_length(post.station_in, units),
                    x=x,
                    y=profile.foot_y,
                    size=WORD_SIZE - 1,
                )
            ]
        )
        if label:
            yield marks.words(label.text, label.x, label.y, size=WORD_SIZE - 1, colour=marks.SOFT)


def _legend(profile: Profile, units: str) -> str:
    y, string = profile.legend_y, short_length(profile.strip.string_in, units)
    scale = (
        f"Heights drawn {profile.times:g} times as large as lengths."
        if profile.times > 1
        else "Heights and lengths to one scale."
    )
    entry = partial(marks.words, size=WORD_SIZE, anchor="start", colour=marks.SOFT)
    return (
        marks.line(14, y, 34, y, width=2.2, colour=GROUND)
        + entry("ground", 40, y)
        + marks.line(104, y, 124, y, colour=STRING, dashes="7 4")
        + entry(f"string, tied {string} over the ground", 130, y)
        + entry(
            f"Red over the fence: its steps; under it: gaps over their limit. {scale}", 14, y + 16
        )
    )


def _about(strip: Strip, units: str) -> str:
    """Return the drawing in words, for people who can't see it."""
    fall_in = strip.ground[0][1] - strip.ground[-1][1]
    told = [
        f"The ground {'falls' if fall_in >= 0 else 'rises'} {short_length(abs(fall_in), units)} "
        f"over {long_length(strip.end_in - strip.start_in, units)}.",
        how_many(len(strip.bays), "bay"),
    ]
    counts = {
        kind: sum(bay.follows == kind for bay in strip.bays)
        for kind in ("racked", "stepped", "level")
    }
    told[-1] += ": " + ", ".join(f"{n} {kind}" for kind, n in counts.items() if n) + "."
    steps = [
        f"{short_length(abs(after_in - before_in), units)} at {long_length(station_in, units)}"
        for station_in, before_in, after_in in _step_places(strip.bays)
    ]
    if steps:
        told.append(f"Steps: {', '.join(steps)}.")
    largest_in = max(bay.largest_gap_in for bay in strip.bays)
    told.append(f"Largest gap under the fence {short_length(largest_in, units)}.")
    return " ".join(told)
