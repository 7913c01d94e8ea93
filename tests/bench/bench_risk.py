"""How long the simulation takes: `python -m tests.bench.bench_risk` from the project's root.

Prints tables of growth by draws and by posts, and fails when 10,000 draws over a site of 100 posts
take 300 ms or more. Measured in processor time, so that what else the machine does counts for
nothing.
"""

import statistics
import sys
import time

from estimating.engine.catalog import Rules
from estimating.engine.estimate import estimate
from estimating.engine.reading import read_catalog
from estimating.engine.result import EstimateResult
from estimating.engine.risk import simulate
from estimating.engine.uncertain import Uncertain
from estimating.starter import load_starter_data, load_starter_risks
from tests.bench.bench_engine import site_of

DRAWS = (1_000, 2_000, 5_000, 10_000, 20_000, 50_000, 100_000)
POSTS = (10, 100, 1_000, 5_000)
LIMIT_MS = 300.0
LIMIT_DRAWS = 10_000
LIMIT_POSTS = 100
TIMES = 9


def starter_rows() -> list[Uncertain]:
    return [
        Uncertain(key=key, **{name: value for name, value in fields.items() if name != "source"})
        for key, fields in load_starter_risks().items()
    ]


def milliseconds(
    result: EstimateResult, rules: Rules, rows: list[Uncertain], *, draws: int
) -> float:
    """Return the time of drawing and of asking for one price."""
    taken = []
    for seed in range(TIMES):
        started = time.process_time()
        simulate(result, rules, rows, seed=seed, draws=draws).price_at(80)
        taken.append((time.process_time() - started) * 1000)
    return statistics.median(taken)


def main() -> int:
    catalog = read_catalog(load_starter_data())
    rows = starter_rows()
    result = estimate(site_of(LIMIT_POSTS), catalog)
    at_limit = 0.0
    print(f"{len(rows)} uncertain rows, {len(result.holes)} posts")  # noqa: T201
    print("  draws      ms  us per draw")  # noqa: T201
    for draws in DRAWS:
        ms = milliseconds(result, catalog.rules, rows, draws=draws)
        print(f"{draws:7d}  {ms:6.2f}  {1000 * ms / draws:11.3f}")  # noqa: T201
        if draws == LIMIT_DRAWS:
            at_limit = ms
    print(f"  posts      ms, {LIMIT_DRAWS} draws")  # noqa: T201
    for posts in POSTS:
        large = estimate(site_of(posts), catalog)
        ms = milliseconds(large, catalog.rules, rows, draws=LIMIT_DRAWS)
        print(f"{len(large.holes):7d}  {ms:6.2f}")  # noqa: T201
    print(f"{LIMIT_DRAWS} draws: {at_limit:.2f} ms, limit {LIMIT_MS:g} ms")  # noqa: T201
    return 0 if at_limit < LIMIT_MS else 1


if __name__ == "__main__":
    sys.exit(main())
