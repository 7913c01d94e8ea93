"""The string a crew sets posts to: what it runs parallel to over each bay of a line on its ground.

Over bays that follow the ground the string runs straight as they do, and post tops stand at one
height over it. Along bays that stand level it is level, at its height over the highest ground
(trade handbook, section 7). Heights are those of the line's datum, less the string's own height.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

# A level string that falling ground leaves higher than a tall person's eyes is hung anew.
REACH_IN = 60.0
# What bends less than this from one bay to the next is one straight string.
BEND_IN = 1 / 32


@dataclass(frozen=True, kw_only=True, slots=True)
class StringBay:
    """One bay under the string: its posts' numbers, its length and what it stands on.

    `is_level` where it was set level whatever the ground does.
    """

    from_post: int
    to_post: int
    length_in: float
    base_start_in: float
    base_end_in: float
    is_level: bool


def stands_level(follows: str, because: str) -> bool:
    """Say whether a bay was set level, not along level ground or the eased string."""
    return follows == "stepped" or (follows == "level" and because not in ("even", "no_shots", ""))


def string_over_bays(
    bays: Sequence[StringBay], ground: Mapping[int, float], *, height_in: float
) -> list[tuple[float, float]]:
    """Return what the string runs over, at the start and end of each bay.

    `ground` has the height at each post; `height_in` is the string's over it.
    """
    over = [(bay.base_start_in, bay.base_end_in) for bay in bays]
    for first, last in _level_stretches(bays, ground, REACH_IN - height_in):
        level_in = max(max(_grounds(bay, ground)) for bay in bays[first:last])
        over[first:last] = [(level_in, level_in)] * (last - first)
    return over


def string_at_posts(
    bays: Sequence[StringBay], over: Sequence[tuple[float, float]]
) -> dict[int, float]:
    """Return what the string runs over at each post; where two meet, the one along the ground."""
    at_post: dict[int, float] = {}
    ranked = sorted(zip(bays, over, strict=True), key=lambda pair: pair[0].is_level)
    for bay, (start_in, end_in) in ranked:
        at_post.setdefault(bay.from_post, start_in)
        at_post.setdefault(bay.to_post, end_in)
    return at_post


def ties(bays: Sequence[StringBay], over: Sequence[tuple[float, float]]) -> list[int]:
    """Return the posts between a line's ends at which the string bends or is hung anew."""
    tied = []
    for i in range(1, len(bays)):
        before, after = bays[i - 1], bays[i]
        if before.to_post != after.from_post:
            continue
        rise_in = over[i - 1][1] - over[i - 1][0]
        goes_on_in = over[i - 1][1] + rise_in * after.length_in / before.length_in
        bends = abs(goes_on_in - over[i][1]) > BEND_IN
        if bends or abs(over[i][0] - over[i - 1][1]) > BEND_IN:
            tied.append(after.from_post)
    return tied


def _level_stretches(
    bays: Sequence[StringBay], ground: Mapping[int, float], fall_in: float
) -> Iterator[tuple[int, int]]:
    """Yield level bays one after the other whose ground falls no further than the string allows."""
    first, low_in, high_in = None, 0.0, 0.0
    for i, bay in enumerate(bays):
        heights = _grounds(bay, ground)
        low_in, high_in = min(low_in, *heights), max(high_in, *heights)
        if first is not None:
            is_next = bay.is_level and bays[i - 1].to_post == bay.from_post
            if not is_next or high_in - low_in > fall_in:
                yield first, i
                first = None
        if first is None and bay.is_level:
            first, low_in, high_in = i, min(heights), max(heights)
    if first is not None:
        yield first, len(bays)


def _grounds(bay: StringBay, ground: Mapping[int, float]) -> tuple[float, float]:
    """Return the ground at a bay's posts; at a wall what the bay stands on."""
    return (
        ground.get(bay.from_post, bay.base_start_in),
        ground.get(bay.to_post, bay.base_end_in),
    )
