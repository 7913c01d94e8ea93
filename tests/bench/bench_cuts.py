"""How long the cut lists take: `python -m tests.bench.bench_cuts` from the project's root.

A site of four systems in equal parts (vinyl, wood with three lengths of rail, ranch rail, chain
link with pipe and wire), its legs all of other lengths, is planned anew each time. Prints a table
of growth, and exits 1 when a site of 100 posts takes 150 ms or more, or when any plan costs more
than first fit. Measured in processor time; what loading OR-Tools takes once is told apart.
"""

import random
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from estimating.engine.catalog import Catalog
from estimating.engine.cutting import MaterialCuts, cuts_by_material
from estimating.engine.layout import lay_out
from estimating.engine.reading import read_catalog
from estimating.engine.site import FenceLine, Leg, Site
from estimating.engine.stock.plan import plan_cuts
from estimating.engine.stock.solver import whole_bars
from estimating.engine.stock_plans import StockPlans, plan_stock
from estimating.starter import load_starter_data

SIZES = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
LIMIT_MS = 150.0
LIMIT_POSTS = 100
SYSTEMS = (
    "vinyl_privacy_6ft",
    "wood_privacy_side_6ft",
    "vinyl_ranch_3_rail",
    "chain_link_6ft_commercial",
)
BAY_IN = 96.0


def site_of(posts: int, *, seed: int) -> Site:
    """Build a site of about so many posts whose legs, 8 to 100 ft, are all of other lengths."""
    lengths = random.Random(seed)  # noqa: S311
    lines = []
    for number, system in enumerate(SYSTEMS):
        left_in = posts / len(SYSTEMS) * BAY_IN
        legs: list[Leg] = []
        while left_in > BAY_IN:
            leg_in = min(left_in, lengths.randint(96 * 16, 1200 * 16) / 16)
            legs.append(Leg(length_in=leg_in, turn_deg=60.0 * (-1) ** len(legs) if legs else 0.0))
            left_in -= leg_in
        lines.append(
            FenceLine(
                id=chr(ord("A") + number),
                name=system,
                system=system,
                start_y_in=-100_000.0 * number,
                legs=tuple(legs) or (Leg(length_in=BAY_IN),),
            )
        )
    return Site(name="Bench", lines=tuple(lines))


def planned(cuts: list[MaterialCuts], catalog: Catalog) -> tuple[StockPlans, float]:
    """Plan the cuts anew; return the plans and the milliseconds."""
    plan_cuts.cache_clear()
    started = time.process_time()
    plans = plan_stock(cuts, catalog, {})
    return plans, (time.process_time() - started) * 1000


def main() -> int:
    catalog = read_catalog(load_starter_data())
    started = time.process_time()
    whole_bars([], [], [1], least=0, under=1, most_nodes=1)
    print(f"OR-Tools is loaded once in {(time.process_time() - started) * 1000:.0f} ms")  # noqa: T201
    at_limit, is_worse = 0.0, False
    print("asked  posts  pieces  sizes  plans  proven  first fit $   plan $  median ms   most ms")  # noqa: T201
    for size in SIZES:
        taken, rows = [], []
        for seed in range(5 if size <= LIMIT_POSTS else 2):
            lines = lay_out(site_of(size, seed=seed), catalog).lines
            cuts = cuts_by_material(lines, catalog.systems, catalog.prices)
            plans, ms = planned(cuts, catalog)
            taken.append(ms)
            rows.append((lines, cuts, plans))
        lines, cuts, plans = rows[0]
        first_fit = sum(plan.first_fit_cost for plan in plans.plans)
        cost = sum(plan.cost for plan in plans.plans)
        is_worse |= any(
            plan.cost > plan.first_fit_cost for _, _, each in rows for plan in each.plans
        )
        pieces = sum(cut.pieces for each in cuts for cut in each.cuts)
        sizes = len({(cut.item, cut.length_in) for each in cuts for cut in each.cuts})
        print(  # noqa: T201
            f"{size:5d}  {sum(len(line.posts) for line in lines):5d}  {pieces:6d}  {sizes:5d}"
            f"  {len(plans.plans):5d}  {sum(plan.is_proven for plan in plans.plans):6d}"
            f"  {first_fit:11,.2f}  {cost:7,.2f}  {statistics.median(taken):9.1f}"
            f"  {max(taken):8.1f}"
        )
        if size == LIMIT_POSTS:
            at_limit = max(taken)
    print(f"{LIMIT_POSTS} posts: {at_limit:.1f} ms at most, bar {LIMIT_MS:g} ms")  # noqa: T201
    print("a plan costs more than first fit" if is_worse else "no plan costs more than first fit")  # noqa: T201
    return 0 if at_limit < LIMIT_MS and not is_worse else 1


if __name__ == "__main__":
    raise SystemExit(main())
