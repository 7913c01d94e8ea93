"""How long the engine takes: `python -m tests.bench.bench_engine` from the project's root.

Prints a table of growth up to 5,000 posts and exits 1 over either bar: a site of 100 posts in
under 20 ms, all but cut lists and risk; and no part of it growing faster than its posts. Cut
lists are an exact method with bars of their own, so they are timed beside and left out.
Measured in processor time, the quickest of several runs, so that what else the machine does
counts for little.
"""

import gc
import sys
import time
from collections.abc import Callable
from pathlib import Path
from unittest import mock

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from estimating.engine import estimate as entry
from estimating.engine import post_plan
from estimating.engine.catalog import Catalog
from estimating.engine.layout import lay_out
from estimating.engine.reading import read_catalog
from estimating.engine.site import Conditions, FenceLine, Gate, GroundShot, Leg, NoDigStrip, Site
from estimating.engine.stock.plan import plan_cuts
from estimating.engine.stock_plans import NO_PLANS
from estimating.starter import load_starter_data

SIZES = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
LIMIT_MS = 20.0
LIMIT_POSTS = 100
# From 500 posts on a post may cost this much more than among 500: memory and caches take part of
# it; what grew with the square of the posts would cost ten times as much among 5,000.
NOISE_RATIO = 1.5
RATIO_FROM = 500
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
    # Marks of utilities grow with the fence as gates do: one in two hundred feet or so.
    marks = tuple(
        NoDigStrip(station_in=number * leg_in + 500.0, facility_width_in=4.0, hand_dig=True)
        for number in range(0, legs, 3)
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
        no_dig=marks,
    )


def milliseconds(work: Callable[[], object], *, times: int) -> float:
    """Return the quickest of several runs, with the rubbish of earlier ones swept up before."""
    taken = []
    for _ in range(times):
        gc.collect()
        started = time.process_time()
        work()
        taken.append((time.process_time() - started) * 1000)
    return min(taken)


def without_cuts(site: Site, catalog: Catalog) -> None:
    post_plan._best_plan.cache_clear()
    with mock.patch.object(entry, "plan_stock", return_value=NO_PLANS):
        entry.estimate(site, catalog)


def with_cuts_planned_anew(site: Site, catalog: Catalog) -> None:
    post_plan._best_plan.cache_clear()
    plan_cuts.cache_clear()
    entry.estimate(site, catalog)


def main() -> int:
    catalog = read_catalog(load_starter_data())
    per_post: dict[int, float] = {}
    at_limit = 0.0
    print("asked   posts  bays  gates  findings  layout ms  all but cuts ms  us per post  cuts ms")  # noqa: T201
    for size in SIZES:
        site = site_of(size)
        times = max(3, 1000 // size)
        result = entry.estimate(site, catalog)
        posts = sum(len(line.posts) for line in result.lines)
        bays = sum(len(line.bays) for line in result.lines)
        gates = sum(len(line.gates) for line in result.lines)
        layout_ms = milliseconds(lambda s=site: lay_out(s, catalog), times=times)  # type: ignore[misc]
        ms = milliseconds(lambda s=site: without_cuts(s, catalog), times=times)  # type: ignore[misc]
        whole_ms = milliseconds(lambda s=site: with_cuts_planned_anew(s, catalog), times=times)  # type: ignore[misc]
        per_post[size] = ms / posts
        print(  # noqa: T201
            f"{size:5d}  {posts:6d}  {bays:4d}  {gates:5d}  {len(result.findings):8d}"
            f"  {layout_ms:9.2f}  {ms:15.2f}  {ms / posts * 1000:11.1f}"
            f"  {max(0.0, whole_ms - ms):7.2f}"
        )
        if size == LIMIT_POSTS:
            at_limit = ms
    ratio = max(per_post[size] for size in SIZES if size > RATIO_FROM) / per_post[RATIO_FROM]
    print(f"{LIMIT_POSTS} posts: {at_limit:.2f} ms, bar {LIMIT_MS:g} ms")  # noqa: T201
    print(  # noqa: T201
        f"a post among more than {RATIO_FROM} costs {ratio:.2f} times one among {RATIO_FROM}, "
        f"bar {NOISE_RATIO:g}"
    )
    return 0 if at_limit < LIMIT_MS and ratio < NOISE_RATIO else 1


if __name__ == "__main__":
    raise SystemExit(main())
