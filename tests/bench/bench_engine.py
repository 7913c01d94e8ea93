"""How long the engine takes: `python tests/bench/bench_engine.py` from the project's root.

Prints a table of growth, and fails when a site of 100 posts takes 20 ms or more. Measured in
processor time, so that what else the machine does counts for nothing.
"""

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from estimating.engine.catalog import Catalog
from estimating.engine.estimate import estimate
from estimating.engine.reading import read_catalog
from estimating.engine.site import Conditions, FenceLine, Gate, GroundShot, Leg, Site
from estimating.starter import load_starter_data

SIZES = (10, 20, 50, 100, 200, 500, 1000, 2000)
LIMIT_MS = 20.0
LIMIT_POSTS = 100
LEG_IN = 960.0  # 80 ft


def site_of(posts: int) -> Site:
    """Build a site of about so many posts: half vinyl, half chain link on a slope, with gates."""
    half_in = posts * 96.0 / 2
    vinyl = zigzag("A", "vinyl_privacy_6ft", half_in, gates=max(1, posts // 50))
    link = zigzag("B", "chain_link_6ft", half_in * 1.25, gates=max(1, posts // 50))
    return Site(name="Bench", lines=(vinyl, link), conditions=Conditions(dig_method="skid_steer"))


def zigzag(line_id: str, system: str, length_in: float, *, gates: int) -> FenceLine:
    legs = max(1, round(length_in / LEG_IN))
    leg_in = round(length_in / legs * 16) / 16
    shots = tuple(
        GroundShot(station_in=number * leg_in, elevation_in=(number % 3) * 8.0)
        for number in range(legs + 1)
    )
    return FenceLine(
        id=line_id,
        name=f"Line {line_id}",
        system=system,
        start_y_in=0.0 if line_id == "A" else -100_000.0,
        legs=tuple(
            Leg(length_in=leg_in, turn_deg=0.0 if n == 0 else 60.0 if n % 2 else -60.0)
            for n in range(legs)
        ),
        ground=shots,
        gates=tuple(
            Gate(
                id=f"G{n}",
                station_in=round((n + 0.3) * length_in / gates / leg_in) * leg_in + 120.0,
                clear_opening_in=48.0,
            )
            for n in range(gates)
        ),
    )


def milliseconds(site: Site, catalog: Catalog, *, times: int) -> float:
    taken = []
    for _ in range(times):
        started = time.process_time()
        estimate(site, catalog)
        taken.append((time.process_time() - started) * 1000)
    return statistics.median(taken)


def main() -> int:
    catalog = read_catalog(load_starter_data())
    at_limit = 0.0
    print("asked   posts  bays  gates  findings      ms  ms per post")  # noqa: T201
    for size in SIZES:
        site = site_of(size)
        result = estimate(site, catalog)
        posts = sum(len(line.posts) for line in result.lines)
        bays = sum(len(line.bays) for line in result.lines)
        gates = sum(len(line.gates) for line in result.lines)
        ms = milliseconds(site, catalog, times=max(3, 2000 // size))
        print(  # noqa: T201
            f"{size:5d}  {posts:6d}  {bays:4d}  {gates:5d}  {len(result.findings):8d}"
            f"  {ms:6.2f}  {ms / posts:11.4f}"
        )
        if size == LIMIT_POSTS:
            at_limit = ms
    print(f"{LIMIT_POSTS} posts: {at_limit:.2f} ms, limit {LIMIT_MS:g} ms")  # noqa: T201
    return 0 if at_limit < LIMIT_MS else 1


if __name__ == "__main__":
    raise SystemExit(main())
