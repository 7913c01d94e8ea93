"""The simulation's plumbing: the same seed, today's price, prices that rise with confidence."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from estimating.engine.catalog import Catalog, Override, TypedLine
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate
from estimating.engine.result import EstimateResult
from estimating.engine.risk import Risk, simulate
from estimating.engine.site import Conditions, Site
from estimating.engine.uncertain import Uncertain
from estimating.starter import load_starter_risks
from tests.engine_cases import catalog, price
from tests.starter_cases import fence_line, starter_catalog

DRAWS = 2000
NOT_SURE = tuple(
    Uncertain(key=key, **{name: value for name, value in fields.items() if name != "source"})
    for key, fields in load_starter_risks().items()
)


def wood(lengths_ft: float = 32.0, book: Catalog | None = None, **rest: Any) -> EstimateResult:
    site = Site(
        name="Made up",
        lines=(fence_line("wood", [lengths_ft]),),
        conditions=Conditions(dig_method="skid_steer"),
    )
    return estimate(site, book or catalog(), **rest)


def row(target: str = "hours:hang", **fields: Any) -> Uncertain:
    return Uncertain(key=fields.pop("key", "row"), name="Made up", target=target, **fields)  # type: ignore[arg-type]  # one of the targets


def simulated(
    *rows: Uncertain, book: Catalog | None = None, typed: tuple[TypedLine, ...] = (), **rest: Any
) -> Risk:
    book = book or catalog()
    return simulate(
        wood(book=book, typed=typed), book.rules, rows, typed=typed, draws=DRAWS, **rest
    )


def test_the_same_seed_gives_the_same_answer_and_another_another() -> None:
    first, again = simulated(*NOT_SURE, seed=7), simulated(*NOT_SURE, seed=7)
    other = simulated(*NOT_SURE, seed=8)

    assert first.price_at(80) == again.price_at(80)
    assert (first.counts, first.edges) == (again.counts, again.edges)
    assert np.array_equal(first.break_evens, again.break_evens)
    assert not np.array_equal(first.break_evens, other.break_evens)


def test_taking_a_row_out_leaves_the_others_as_they_were() -> None:
    both = simulated(*NOT_SURE[:2], seed=3)
    alone = simulated(NOT_SURE[1], seed=3)

    assert both.effects[1] == alone.effects[0]


@pytest.mark.parametrize("method", ["per_crew_day", "per_labor_hour", "percent_of_direct"])
@pytest.mark.parametrize("rounding", ["0.01", "5"])
def test_ranges_without_width_give_today_s_price_to_the_cent(method: str, rounding: str) -> None:
    book = catalog(
        overhead_method=method,
        overhead_rate=Decimal("17.35"),
        commission_pct=Decimal("3.5"),
        purchase_tax_pct=Decimal("6.625"),
        price_rounding=Decimal(rounding),
    )
    risk = simulated(
        row(),
        row("rock_hole", key="rock", shape="chance", chance_pct=0.0, extra=2.0),
        row("material", key="rise", shape="chance", chance_pct=100.0, extra=0.0),
        book=book,
    )

    assert {risk.price_at(level) for level in (1, 50, 80, 100)} == {
        wood(book=book).money.price_before_tax
    }
    assert (risk.keeps_target_pct, risk.covers_cost_pct) == (100.0, 100.0)
    assert risk.counts == (DRAWS,)
    assert not any(each.is_used for each in risk.effects)


def test_a_range_of_one_figure_is_that_figure() -> None:
    # 4 bays x 0.5 h of hanging = 2 h; 50 % more is an hour: $62 and 1/24 of a crew-day of $900,
    # 37.50; 99.50 / 0.88 = 113.07 more, give or take the cent of either price.
    sure = row(low_pct=50.0, likely_pct=50.0, high_pct=50.0)
    more = simulated(sure).price_at(80) - wood().money.price_before_tax

    assert abs(more - Decimal("113.07")) <= Decimal("0.01")


def test_price_never_falls_as_the_confidence_rises() -> None:
    risk = simulated(*NOT_SURE, seed=5)
    prices = [risk.price_at(level / 4) for level in range(1, 401)]

    assert prices == sorted(prices)
    assert prices[0] < prices[-1]


@pytest.mark.parametrize("level", [0, -1, 100.5])
def test_a_confidence_that_is_none_is_refused(level: float) -> None:
    with pytest.raises(EngineError):
        simulated(*NOT_SURE).price_at(level)


def test_the_price_of_a_confidence_is_enough_in_so_many_draws() -> None:
    risk = simulated(*NOT_SURE, seed=11)
    judged = simulated(*NOT_SURE, seed=11, todays_price=risk.price_at(80))

    assert 80.0 <= judged.keeps_target_pct < 80.5
    assert judged.covers_cost_pct > judged.keeps_target_pct


def test_lines_with_a_fixed_price_are_not_drawn() -> None:
    fixed = TypedLine(
        key="t1", description="Stump", unit_cost=Decimal(40), price=Decimal(300), labor_hours=1.0
    )
    plain, more = simulated(*NOT_SURE), simulated(*NOT_SURE, typed=(fixed,))

    assert more.price_at(80) == plain.price_at(80) + 300


def test_optional_lines_count_for_nothing() -> None:
    extra = TypedLine(key="t1", description="Lattice", unit_cost=Decimal(40), is_optional=True)
    assert simulated(*NOT_SURE, typed=(extra,)).price_at(80) == simulated(*NOT_SURE).price_at(80)


def test_the_smallest_charge_is_never_undercut() -> None:
    risk = simulated(*NOT_SURE, book=catalog(minimum_charge=Decimal(99_000)))
    assert risk.price_at(1) == risk.price_at(100) == Decimal(99_000)


def test_a_price_set_by_hand_is_the_one_that_is_judged() -> None:
    low = [Override(target="price", value=Decimal(100), reason="agreed")]
    result = wood(overrides=low)
    risk = simulate(result, catalog().rules, NOT_SURE, draws=DRAWS)

    assert risk.todays_price == Decimal(100)
    assert (risk.keeps_target_pct, risk.covers_cost_pct) == (0.0, 0.0)


def test_the_machine_stays_to_the_half_day_while_the_crew_digs() -> None:
    # 5 holes x 0.35 = 1.75 h, half a day; ten times as long, 19.25 h of a crew of 3 x 8 h: a day.
    machine = price("skid_steer_auger_day", "340.00", kind="equipment", unit="day")
    base = catalog()
    book = replace(
        base,
        prices={**base.prices, machine.key: machine},
        rules=replace(base.rules, equipment={"skid_steer": machine.key}),
    )
    long = row("hours:dig", low_pct=1000.0, likely_pct=1000.0, high_pct=1000.0)
    with_machine = float(simulated(long, book=book).break_evens[0])
    without = float(simulated(long).break_evens[0])

    assert with_machine - without == pytest.approx(340.0)


def test_one_more_trip_costs_its_travel_and_its_hours() -> None:
    book = catalog(travel_per_trip=Decimal(85), overhead_rate=Decimal(0))
    trip = row("return_trip", shape="chance", chance_pct=100.0, extra=3.0)

    # 85 + 3 x 62 = 271.
    assert simulated(trip, book=book).effects[0].mean == Decimal("271.00")


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"target": "weather"}, "target"),
        ({"target": "rock_hole"}, "shape"),
        ({"low_pct": 10.0, "likely_pct": 5.0, "high_pct": 20.0}, "likely_pct"),
        ({"low_pct": -95.0}, "likely_pct"),
        ({"shape": "chance", "chance_pct": 101.0}, "chance_pct"),
        ({"shape": "chance", "extra": -1.0}, "extra"),
    ],
)
def test_rows_that_make_no_sense_are_refused(fields: dict[str, Any], field: str) -> None:
    with pytest.raises(EngineError) as caught:
        row(**fields)
    assert caught.value.field == field


def test_the_starter_s_rows_move_the_price_of_a_real_fence() -> None:
    book = starter_catalog()
    site = Site(
        name="Made up",
        lines=(fence_line("vinyl_privacy_6ft", [96.0]),),
        conditions=Conditions(dig_method="skid_steer"),
    )
    result = estimate(site, book)
    risk = simulate(result, book.rules, NOT_SURE, draws=DRAWS)

    assert risk.price_at(80) > result.money.price_before_tax
    assert 0 < risk.keeps_target_pct < 50
    assert sum(risk.counts) == DRAWS
    used = {each.row.key for each in risk.effects if each.is_used}
    assert used == {row.key for row in NOT_SURE} - {"gate_hours", "removal_hours"}
