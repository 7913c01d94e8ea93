"""Cutting plans: worked by hand, by trying everything, and by their properties."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.engine.errors import EngineError
from estimating.engine.stock import plan as planning
from estimating.engine.stock.cutting import Bar, CuttingJob, Stock, cost_of, cuts_all, job_of
from estimating.engine.stock.first_fit import first_fit
from estimating.engine.stock.plan import plan_cuts
from tests.cutting_oracle import best_by_trying, first_fit_as_told

# 2 x 4 rails in sixteenths, prices in cents.
RAILS = (
    Stock(key="8 ft", length=1536, cost=740),
    Stock(key="12 ft", length=2304, cost=1140),
    Stock(key="16 ft", length=3072, cost=1560),
)


def rails(pieces_in: dict[float, int], *, stocks: tuple[Stock, ...] = RAILS) -> CuttingJob:
    pieces = [(round(length * 16), count) for length, count in pieces_in.items()]
    return job_of(pieces, stocks, kerf=2, keep_from=24 * 16)


def bought(job: CuttingJob) -> dict[str, int]:
    counts: dict[str, int] = {}
    for bar in plan_cuts(job).bars:
        key = job.stocks[bar.stock].key
        counts[key] = counts.get(key, 0) + 1
    return counts


def longest_kept(job: CuttingJob, bars: tuple[Bar, ...]) -> int:
    offcuts = [job.offcut(bar) for bar in bars]
    return max((each for each in offcuts if each >= job.keep_from), default=0)


class TestByHand:
    def test_equal_bays_take_a_length_each(self) -> None:
        # 85.75 does not come twice out of 12 ft, and twice out of 16 ft for more than 2 x 7.40.
        job = rails({85.75: 21})

        assert bought(job) == {"8 ft": 21}
        assert plan_cuts(job).cost == 21 * 740

    def test_three_of_a_long_one_are_cheaper_than_three_short_ones(self) -> None:
        # 3 x 63 + 2 / 8 = 189.25 of 192: 15.60; three of 8 ft 22.20; two of 12 ft 22.80.
        assert bought(rails({63.0: 3})) == {"16 ft": 1}

    def test_the_mix_costs_least(self) -> None:
        # 90 and 40 in: 130.125 of 144 for 11.40, against 14.80 apart. A second 90 takes 8 ft.
        job = rails({90.0: 2, 40.0: 1})

        assert bought(job) == {"12 ft": 1, "8 ft": 1}
        assert plan_cuts(job).cost == 1880

    def test_two_halves_of_a_length_need_a_cut_between_them(self) -> None:
        # 48 + 1/8 + 48 is over 96; 47-15/16 + 1/8 + 47-15/16 is 96 exactly.
        one = (RAILS[0],)

        assert len(plan_cuts(rails({48.0: 2}, stocks=one)).bars) == 2
        assert len(plan_cuts(rails({47.9375: 2}, stocks=one)).bars) == 1

    def test_of_equal_cost_the_fewest_bars_win(self) -> None:
        # 4 x 47: two of 8 ft or one of 16 ft, at the same price here.
        same = (RAILS[0], Stock(key="16 ft", length=3072, cost=1480))

        assert bought(rails({47.0: 4}, stocks=same)) == {"16 ft": 1}

    def test_what_is_left_is_left_in_one_piece(self) -> None:
        # 60, 30, 30, 20 of 96 take two bars at least (140.5). 60 + 30 and 30 + 20 leave 45.75 at
        # most; 60 + 20 and 30 + 30 leave 35.75; 30 + 30 + 20 and 60 leave 35.875. So 45.75:
        # 96 - 30 - 20 - 2 x 1/8.
        job = rails({60.0: 1, 30.0: 2, 20.0: 1}, stocks=(RAILS[0],))

        assert longest_kept(job, plan_cuts(job).bars) == round(45.75 * 16)

    def test_nothing_to_cut_takes_nothing(self) -> None:
        assert plan_cuts(rails({})).bars == ()

    def test_free_stock_still_takes_the_fewest_bars(self) -> None:
        free = (Stock(key="own", length=1536, cost=0),)
        plan = plan_cuts(rails({40.0: 4}, stocks=free))

        assert (len(plan.bars), plan.cost, plan.is_proven) == (2, 0, True)


class TestRefused:
    def test_a_piece_longer_than_all_stock(self) -> None:
        with pytest.raises(EngineError, match="longer than any stock"):
            rails({193.0: 1})

    def test_pieces_of_no_length(self) -> None:
        with pytest.raises(EngineError, match="above 0"):
            rails({0.0: 1})

    def test_no_stock(self) -> None:
        with pytest.raises(EngineError, match="no stock"):
            rails({10.0: 1}, stocks=())

    def test_pieces_out_of_order(self) -> None:
        with pytest.raises(EngineError, match="longest first"):
            CuttingJob(pieces=((5, 1), (9, 1)), stocks=RAILS)


stocks_of = st.lists(
    st.builds(Stock, key=st.just(""), length=st.integers(60, 200), cost=st.integers(0, 40)),
    min_size=1,
    max_size=3,
)


@st.composite
def jobs(draw: st.DrawFn, *, kinds: int, each: int) -> CuttingJob:
    stocks = draw(stocks_of)
    longest = max(stock.length for stock in stocks)
    piece = st.tuples(st.integers(8, longest), st.integers(1, each))
    return job_of(
        draw(st.lists(piece, min_size=1, max_size=kinds)),
        stocks,
        kerf=draw(st.sampled_from((0, 2, 5))),
        keep_from=draw(st.sampled_from((0, 20, 60))),
    )


@settings(max_examples=120, deadline=None)
@given(jobs(kinds=4, each=2))
def test_small_jobs_come_out_as_by_trying_everything(job: CuttingJob) -> None:
    plan = plan_cuts(job)

    assert plan.is_proven
    assert (plan.cost, len(plan.bars), longest_kept(job, plan.bars)) == best_by_trying(job)


@settings(max_examples=120, deadline=None)
@given(jobs(kinds=8, each=12))
def test_every_piece_is_cut_once_and_no_plan_is_worse_than_first_fit(job: CuttingJob) -> None:
    plan, fitted = plan_cuts(job), first_fit(job)

    assert cuts_all(job, plan.bars)
    assert (plan.cost, len(plan.bars)) <= (cost_of(job, fitted), len(fitted))
    assert plan.cost == cost_of(job, plan.bars)
    assert plan.least_cost <= plan.cost
    assert not plan.is_proven or plan.least_cost == plan.cost


@settings(max_examples=120, deadline=None)
@given(jobs(kinds=8, each=12))
def test_pieces_and_the_cuts_between_them_lie_inside_their_bar(job: CuttingJob) -> None:
    lengths = [length for length, _ in job.pieces]
    for bar in plan_cuts(job).bars:
        pieces = [n for n, k in zip(lengths, bar.counts, strict=True) for _ in range(k)]
        used = sum(pieces) + job.kerf * (len(pieces) - 1)

        assert used <= job.stocks[bar.stock].length
        assert job.offcut(bar) == max(0, job.stocks[bar.stock].length - used - job.kerf)


@settings(max_examples=120, deadline=None)
@given(jobs(kinds=6, each=9))
def test_first_fit_is_first_fit(job: CuttingJob) -> None:
    fitted = first_fit(job)

    assert cuts_all(job, fitted)
    assert (cost_of(job, fitted), len(fitted)) == first_fit_as_told(job)


@settings(max_examples=25, deadline=None)
@given(jobs(kinds=6, each=6))
def test_the_same_job_gives_the_same_plan(job: CuttingJob) -> None:
    first = plan_cuts(job)
    plan_cuts.cache_clear()

    assert plan_cuts(job) == first


# 20 sizes, three stocks: 51 + 26 + 23 and the like, many ways to the same cost.
HARD = job_of(
    [(31 + 7 * i % 60, 5) for i in range(20)],
    RAILS_SHORT := (
        Stock(key="a", length=192, cost=78),
        Stock(key="b", length=144, cost=57),
        Stock(key="c", length=96, cost=37),
    ),
    kerf=1,
    keep_from=24,
)


def test_where_the_steps_run_out_the_bound_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    plan_cuts.cache_clear()
    monkeypatch.setattr(planning, "SEARCH_STEPS", 40)
    monkeypatch.setattr(planning, "LISTING_STEPS", 40)

    plan = plan_cuts(HARD)
    plan_cuts.cache_clear()

    assert not plan.is_proven
    assert 0 < plan.least_cost < plan.cost <= cost_of(HARD, first_fit(HARD))
    # What is told is true: with all its steps it finds nothing under that bound.
    monkeypatch.undo()
    assert plan.least_cost <= plan_cuts(HARD).cost <= plan.cost
