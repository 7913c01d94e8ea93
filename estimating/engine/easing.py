"""The straight string over bays that follow the ground: where it is tied, how high it stands."""

from collections.abc import Callable, Sequence

Fits = Callable[[int, Sequence[float]], bool]


def straightened(
    places: Sequence[float],
    heights: Sequence[float],
    fits: Fits,
) -> list[float]:
    """Return heights that run straight for as long as they fit.

    `places` are the posts along the line, `heights` what a fence that follows the ground stands
    on there. A stretch is pulled straight from its first post to its last; where it does not fit
    it is tied down at the post it misses by most, and both halves are tried again. `fits` is
    asked with the index of a stretch's first post and the straight heights of all its posts.
    """
    straight = list(heights)
    open_stretches = [(0, len(places) - 1)]
    while open_stretches:
        first, last = open_stretches.pop()
        if last - first < 2:
            continue
        rise = (heights[last] - heights[first]) / (places[last] - places[first])
        pulled = [heights[first] + rise * (places[i] - places[first]) for i in range(first, last)]
        pulled.append(heights[last])
        if fits(first, pulled):
            straight[first : last + 1] = pulled
            continue
        missed = max(
            range(first + 1, last),
            key=lambda i: (abs(pulled[i - first] - heights[i]), -abs(2 * i - first - last)),
        )
        open_stretches += [(first, missed), (missed, last)]
    return straight
