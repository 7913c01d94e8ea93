"""How long the posts of a section take to plan round what bars them.

Run `python tests/bench/bench_post_plan.py` from the project's root. Prints a table of growth for
both ways of dividing, and fails when a line of 500 ft with six barred intervals takes 50 ms or
more at the median. Measured in processor time.
"""

import random
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from estimating.engine import post_plan
from estimating.engine.post_plan import HAIRS, Limits, Room, Stretch, best_plan
from estimating.engine.post_sets import merged, without

SIZES = ((100, 2), (250, 4), (500, 6), (1000, 12), (2000, 24))  # ft, and intervals barred in them
LIMIT_MS = 50.0
LIMIT_FT = 500
CASES = 25
PER_FT = 12 * 16
LARGEST = 96 * 16
POST_HALF = 2.5 * 16 * HAIRS
GATE_HALF = 3 * 16 * HAIRS


def stretch_of(length_ft: int, intervals: int, picks: random.Random) -> Stretch:
    """Build a stretch whose barred intervals are those of marks: 50 to 90 in, some by hand."""
    length = length_ft * PER_FT
    half = [picks.choice((400, 536, 720)) for _ in range(intervals)]
    centres = [picks.randrange(800, length - 800) for _ in range(intervals)]
    by_hand = [picks.random() < 0.3 for _ in range(intervals)]
    marks = list(zip(centres, half, by_hand, strict=True))
    barred = merged(
        (c - (h // 3 if hand else h), c + (h // 3 if hand else h)) for c, h, hand in marks
    )
    dug = merged((c - h, c + h) for c, h, hand in marks if hand)
    free = without([(1, length - 1)], barred)
    plain = without(free, dug)
    rooms = [Room(start=a, end=b) for a, b in plain]
    rooms += [Room(start=a, end=b, by_hand=True) for a, b in without(free, plain)]
    return Stretch(
        length=length,
        largest=LARGEST,
        full_clear=LARGEST * HAIRS - int(2 * POST_HALF),
        first_half=int(picks.choice((POST_HALF, GATE_HALF))),
        last_half=int(POST_HALF),
        rooms=tuple(sorted(rooms, key=lambda room: room.start)),
    )


def milliseconds(stretches: list[Stretch], limits: Limits) -> list[float]:
    taken = []
    for stretch in stretches:
        post_plan._best_plan.cache_clear()  # what is kept of an earlier estimate is not timed
        started = time.process_time()
        best_plan([stretch], limits)
        taken.append((time.process_time() - started) * 1000)
    return taken


def main() -> int:
    slow = False
    print("division        length  barred  planned of     median ms  worst ms")  # noqa: T201
    for division in ("equal", "full_and_short"):
        limits = Limits(
            narrowest_clear=12 * 16 * HAIRS,
            line_half=int(POST_HALF),
            division="equal" if division == "equal" else "full_and_short",
        )
        for length_ft, intervals in SIZES:
            picks = random.Random(length_ft)  # noqa: S311 - the same lines every time
            stretches = [stretch_of(length_ft, intervals, picks) for _ in range(CASES)]
            planned = sum(best_plan([each], limits) is not None for each in stretches)
            taken = milliseconds(stretches, limits)
            median = statistics.median(taken)
            print(  # noqa: T201
                f"{division:14s}  {length_ft:5d}ft  {intervals:6d}  {planned:7d} {CASES:2d}"
                f"  {median:12.2f}  {max(taken):8.2f}"
            )
            slow = slow or (length_ft == LIMIT_FT and median >= LIMIT_MS)
    print(f"bar: {LIMIT_FT} ft with six intervals under {LIMIT_MS:g} ms")  # noqa: T201
    return 1 if slow else 0


if __name__ == "__main__":
    raise SystemExit(main())
