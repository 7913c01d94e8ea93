"""How long saver hints take: `python -m tests.bench.bench_savers` from the project's root.

The sites have more changes worth trying than are tried, so that each row is the longest there is.
Fails when the hints of a site of 100 posts take 300 ms or more. Measured in processor time.
"""

import statistics
import sys
import time
from itertools import cycle
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from estimating.engine.estimate import estimate
from estimating.engine.reading import read_catalog, read_site
from estimating.engine.savers import saver_hints
from estimating.starter import load_starter_data

SIZES = (10, 20, 50, 100, 200, 500, 1000)
LIMIT_MS = 300.0
LIMIT_POSTS = 100
POSTS_A_LINE = 5
MOST_LINES = 100
BAY_IN = {"vinyl_privacy_6ft": 96.0, "steel_panel_4ft": 98.0}


def document_of(posts: int) -> dict[str, Any]:
    """Return a site of about so many posts in lines that are an inch too long."""
    count = min(MOST_LINES, max(1, round(posts / POSTS_A_LINE)))
    bays = max(1, round(posts / count) - 2)
    lines = [
        {
            "id": f"L{number}",
            "system": system,
            "legs": [{"length_in": bays * BAY_IN[system] + 1}],
            "start_y_in": number * 200.0,
        }
        for number, system in zip(range(count), cycle(BAY_IN), strict=False)
    ]
    return {"format": "firm-footing-site", "version": 1, "name": "Bench", "lines": lines}


def milliseconds(document: dict[str, Any], *, runs: int = 5) -> float:
    catalog = read_catalog(load_starter_data())
    times = []
    for _ in range(runs):
        start = time.process_time()
        saver_hints(document, catalog)
        times.append((time.process_time() - start) * 1000)
    return statistics.median(times)


def main() -> int:
    catalog = read_catalog(load_starter_data())
    sys.stdout.write(
        f"{'asked':>6}{'posts':>7}{'tried':>7}{'left':>6}{'hints':>7}{'ms':>9}{'ms per post':>13}\n"
    )
    limit_met = True
    for asked in SIZES:
        document = document_of(asked)
        posts = len(estimate(read_site(document), catalog).holes)
        found = saver_hints(document, catalog)
        took = milliseconds(document)
        sys.stdout.write(
            f"{asked:>6}{posts:>7}{found.tried:>7}{found.left_out:>6}{len(found.hints):>7}"
            f"{took:>9.1f}{took / posts:>13.3f}\n"
        )
        if asked == LIMIT_POSTS:
            limit_met = took < LIMIT_MS
    sys.stdout.write(f"bar: {LIMIT_POSTS} posts in {LIMIT_MS:.0f} ms\n")
    return 0 if limit_met else 1


if __name__ == "__main__":
    sys.exit(main())
