"""Cutting plans against published and proven optima of the one-dimensional cutting stock problem.

The eight instances and their optima stand in the project's notes on formulas: the first two from
memory of the literature, the third from the README of the package `cutting-stock` 0.1.3 on the
Python Package Index. All were solved to proof there by column generation with an integer
programme, or by CP-SAT, apart from this code; first fit's figures are from the same table.
Lengths are whole units of the instance, or sixteenths of an inch where it speaks of inches.
"""

from dataclasses import dataclass

import pytest

from estimating.engine.stock.cutting import CuttingJob, Stock, cuts_all, job_of
from estimating.engine.stock.first_fit import first_fit
from estimating.engine.stock.plan import plan_cuts

MEMORY = pytest.mark.source("M", "literature on cutting stock, from memory; optimum proven apart")
COMPUTED = pytest.mark.source("C", "proven apart by column generation and an integer programme")
README = pytest.mark.source("P", "README of cutting-stock 0.1.3, Python Package Index")


@dataclass(frozen=True, kw_only=True)
class Instance:
    stock: int
    pieces: dict[int, int]
    fewest: int
    first_fit: int | None = None
    kerf: int = 0

    @property
    def job(self) -> CuttingJob:
        return job_of(
            self.pieces.items(),
            [Stock(key="stock", length=self.stock, cost=1)],
            kerf=self.kerf,
            keep_from=0,
        )


def inches(stock_in: float, pieces_in: dict[float, int], fewest: int, first_fit: int) -> Instance:
    """An instance in sixteenths of an inch, with a saw that takes 1/8 in."""
    return Instance(
        stock=round(stock_in * 16),
        pieces={round(length * 16): count for length, count in pieces_in.items()},
        fewest=fewest,
        first_fit=first_fit,
        kerf=2,
    )


# fmt: off
PAPER_MILL = Instance(
    stock=5600,
    pieces={
        1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12,
        2100: 14, 2140: 16, 2150: 18, 2200: 20,
    },
    fewest=73,  # linear bound 72.917
    first_fit=82,
)
# fmt: on
TEXTBOOK = Instance(
    stock=1000, pieces={450: 97, 360: 610, 310: 395, 140: 211}, fewest=453
)  # linear bound 452.25
# 16 x 12.0 - 168.1 = 23.9 of waste.
README_EXAMPLE = Instance(stock=120, pieces={34: 34, 30: 13, 27: 5}, fewest=16)
# 9 x (51 + 26 + 23) or (27 + 27 + 23 + 23), without waste.
NO_WASTE = Instance(stock=100, pieces={51: 6, 27: 6, 26: 6, 23: 12}, fewest=9, first_fit=11)

THREE_RAILS = inches(192, {92.5: 12, 70.25: 8, 45.5: 5}, 11, 11)  # linear bound 10.25
HALVES = inches(96, {48: 10}, 10, 10)
JUST_FIT = inches(192, {95.875: 10}, 5, 5)
FOUR_SIZES = inches(96, {50: 4, 44: 4, 30: 6, 20: 5}, 8, 8)  # linear bound 7.11

FITTED = [PAPER_MILL, NO_WASTE, THREE_RAILS, HALVES, JUST_FIT, FOUR_SIZES]
INSTANCES = [
    pytest.param(PAPER_MILL, marks=MEMORY, id="paper mill"),
    pytest.param(TEXTBOOK, marks=MEMORY, id="textbook"),
    pytest.param(README_EXAMPLE, marks=README, id="readme"),
    pytest.param(NO_WASTE, marks=COMPUTED, id="no waste"),
    pytest.param(THREE_RAILS, marks=COMPUTED, id="three rails"),
    pytest.param(HALVES, marks=COMPUTED, id="two halves and a cut"),
    pytest.param(JUST_FIT, marks=COMPUTED, id="two that just fit"),
    pytest.param(FOUR_SIZES, marks=COMPUTED, id="four sizes"),
]


@pytest.mark.parametrize("instance", INSTANCES)
def test_the_optimum_is_reached_and_proven(instance: Instance) -> None:
    plan = plan_cuts(instance.job)

    assert (len(plan.bars), plan.is_proven) == (instance.fewest, True)
    assert plan.least_cost == instance.fewest
    assert cuts_all(instance.job, plan.bars)


@COMPUTED
@pytest.mark.parametrize("instance", FITTED)
def test_first_fit_takes_what_it_takes_elsewhere(instance: Instance) -> None:
    assert len(first_fit(instance.job)) == instance.first_fit


@README
def test_the_readme_s_waste_comes_out() -> None:
    job = README_EXAMPLE.job

    # 23.9 of waste in tenths.
    assert sum(job.offcut(bar) for bar in plan_cuts(job).bars) == 239


@COMPUTED
@pytest.mark.parametrize(("piece_in", "bars"), [(95.9375, 5), (96.0, 10)])
def test_two_pieces_need_one_cut(piece_in: float, bars: int) -> None:
    # Trap 6 of the notes: n pieces need n - 1 cuts. 2 x 95 15/16 + 1/8 = 192 just fit a 16 ft
    # length, where two cuts would ask for 192 1/8; 2 x 96 + 1/8 do not.
    instance = inches(192, {piece_in: 10}, bars, bars)

    assert len(plan_cuts(instance.job).bars) == bars
    assert len(first_fit(instance.job)) == bars


@COMPUTED
def test_without_a_kerf_two_halves_come_of_one_length() -> None:
    # 10 x 48 of 96: 5 without a cut's width, 10 with it.
    instance = Instance(stock=1536, pieces={768: 10}, fewest=5)

    assert len(plan_cuts(instance.job).bars) == instance.fewest
