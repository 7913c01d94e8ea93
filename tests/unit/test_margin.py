"""A job's margin: worked by hand before, in the middle and at the end."""

from decimal import Decimal
from typing import Any

import pytest

from scheduling.engine.margin import (
    hour_words,
    margin_of,
    overhead_on,
    spread_minutes,
)
from scheduling.engine.margin_facts import (
    BagFacts,
    ChangeFacts,
    FirmRule,
    JobFacts,
    KindFacts,
    PhaseFacts,
    Triple,
    Units,
)
from tests.margin_cases import PHASE_NAMES, by_key, job_of_13_posts

D = Decimal
RULE = FirmRule(
    crew_rate=D(60),
    crew_size=2,
    hours_per_day=D(8),
    overhead_method="per_labor_hour",
    overhead_rate=D(15),
    commission_pct=D(5),
)


def phase(key: str = "dig", hours: str = "4", cost: str = "240", **changes: object) -> PhaseFacts:
    values: dict[str, object] = {
        "key": key,
        "name": PHASE_NAMES[key],
        "sold_hours": D(hours),
        "sold_cost": D(cost),
    }
    return PhaseFacts(**(values | changes))  # type: ignore[arg-type]  # any field may be given


def job(*phases: PhaseFacts, **changes: object) -> JobFacts:
    """Return a job of 1,000.00: overhead 6 h x 15.00, commission 5 %, material 200.00."""
    values: dict[str, object] = {
        "price": D(1000),
        "overhead": D(90),
        "commission": D(50),
        "phases": phases or (phase(), phase("hang", "2", "120")),
        "kinds": (KindFacts(key="material", name="Material", sold=D(200)),),
        "rule": RULE,
    }
    return JobFacts(**(values | changes))  # type: ignore[arg-type]  # any field may be given


def test_before_anything_happened_the_forecast_is_the_estimate() -> None:
    # The job of tests/job_cast.py: 5,000.00 - 3,153.33 - 794.11 - 250.00 = 802.56; 16.0512 %.
    # 21.176311 h / 24 = 0.882346 crew-days: 802.56 / 0.882346... = 909.57 (0.8823463 x 909.57 =
    # 802.5557; 0.0043 are left, under half a cent a crew-day).
    margin = margin_of(job_of_13_posts())
    assert margin.margin.estimated == margin.margin.forecast == D("802.56")
    assert margin.direct_cost.forecast == D("3153.33")
    assert margin.overhead.forecast == D("794.11")
    assert margin.pct is not None
    assert margin.pct.forecast.quantize(D("0.0001")) == D("16.0512")
    assert margin.per_crew_day is not None
    assert margin.per_crew_day.forecast == D("909.57")
    assert margin.direct_cost.actual == 0
    assert margin.moved_by == "Nothing has moved the margin so far."


def test_in_the_middle_with_8_of_13_posts_set() -> None:
    # Layout is finished: 1.5 h, 90.00. Digging took 9.5 h, 570.00, for 8 posts; the other 5 at
    # 570 / 8 = 71.25 min each: 570 + 356.25 = 926.25, 926 min to the minute; 926.25 in money.
    # Setting took 4 h, 240.00: 240 + 5 x 30 = 390 min, 390.00. Hanging 177.00, gate 75.00 and
    # clean-up 284.18 (284.17866 min) stay as estimated.
    # Labour 90 + 926.25 + 390 + 177 + 75 + 284.18 = 1,942.43 in 1,942.17866 min.
    # Overhead 1,942.17866 / 1,440 x 900.00 = 1,213.8617 -> 1,213.86.
    # 24 bags in 8 posts: 24 + 5 x 3 = 39, 12 over the 27 planned, at 5.35 = 64.20; material
    # 1,500.00 + 64.20 = 1,564.20, over the receipt of 1,000.00.
    # Direct 1,942.43 + 1,564.20 + 382.75 = 3,889.38.
    # Margin 5,000.00 - 3,889.38 - 1,213.86 - 250.00 = -353.24; / 5,000.00 = -7.0648 %.
    # 1,942.17866 / 1,440 = 1.348735 crew-days; 353.24 / 1.348735 = 261.90.
    # Gross (5,000.00 - 3,889.38) / 1.348735 = 1,110.62 / 1.348735 = 823.45.
    margin = margin_of(job_of_13_posts(in_the_middle=True))
    rows = by_key(margin)
    assert rows["layout"].cost.forecast == D("90.00")
    assert (rows["dig"].minutes.forecast, rows["dig"].cost.forecast) == (D(926), D("926.25"))
    assert (rows["set"].minutes.forecast, rows["set"].cost.forecast) == (D(390), D("390.00"))
    assert rows["hang"].cost.forecast == D("177.00")
    assert rows["dig"].basis == "8 of 13 posts set; the other 5 at the same rate."
    assert margin.labour.forecast == D("1942.43")
    assert margin.overhead.forecast == D("1213.86")
    material = margin.kinds[1].cost
    assert material == Triple(estimated=D(1500), actual=D(1000), forecast=D("1564.20"))
    assert margin.kinds[1].basis == "The estimate and 12 more bags than planned, at $5.35."
    assert margin.direct_cost.forecast == D("3889.38")
    assert margin.margin.forecast == D("-353.24")
    assert margin.margin.estimated == D("802.56")
    assert margin.pct is not None
    assert margin.pct.forecast == D("-7.0648")
    assert margin.per_crew_day is not None
    assert margin.per_crew_day.forecast == D("-261.90")
    assert margin.gross_per_crew_day is not None
    assert margin.gross_per_crew_day.forecast == D("823.45")
    # Digging: 926.25 - 378.00 = 548.25; 926 min are 15.43 h and carry 578.75 of overhead, the
    # 6.3 h sold carry 236.25: 342.50 more, 890.75 in all.
    assert margin.moved_by == (
        "Digging costs $890.75 more than estimated, with the overhead it carries: "
        "15.43 h instead of 6.3 h."
    )
    # So far: 900.00 of labour in 900 min and 1,000.00 of material; overhead 900 / 1,440 x 900.00.
    assert margin.direct_cost.actual == D("1900.00")
    assert margin.overhead.actual == D("562.50")


def test_at_the_end_with_signed_changes() -> None:
    # Changes: price 300.00, cost 120.00, 1.5 h at 60.00 = 90.00 of it labour, 30.00 material.
    # The hours go to digging and hanging as 4 : 2, which makes 1.0 and 0.5 h, 60.00 and 30.00.
    # Estimated: labour 300 + 150 = 450, material 230, direct 680; overhead 90 + 1.5 x 15 = 112.50;
    # commission 50 + 15 = 65; margin 1,300 - 680 - 112.50 - 65 = 442.50.
    # Really: digging 5 h, 300; hanging 3 h 20 min, 200; material 180 - 20 = 160; direct 660;
    # overhead 500 min / 60 x 15 = 125; margin 1,300 - 660 - 125 - 65 = 450.
    # Crew-days 7.5 / 16 = 0.46875 and 500 / 960 = 0.520833: 442.50 / 0.46875 = 944.00 and
    # 450 / 0.520833 = 864.00.
    worked = (
        phase(worked_min=300, worked_cost=D(300), is_finished=True),
        phase("hang", "2", "120", worked_min=200, worked_cost=D(200), is_finished=True),
    )
    material = KindFacts(key="material", name="Material", sold=D(200), receipts=(D(180), D(-20)))
    changes = ChangeFacts(price=D(300), direct_cost=D(120), hours=D("1.5"))
    margin = margin_of(job(*worked, kinds=(material,), changes=changes, is_finished=True))
    assert margin.price == D(1300)
    assert margin.hours.estimated == D("7.5")
    assert by_key(margin)["dig"].hours.estimated == D(5)
    assert by_key(margin)["hang"].cost.estimated == D(150)
    assert margin.kinds[1].cost.estimated == D(230)
    assert margin.direct_cost == Triple(estimated=D(680), actual=D(660), forecast=D(660))
    assert margin.overhead == Triple(estimated=D("112.50"), actual=D(125), forecast=D(125))
    assert margin.commission == D(65)
    assert margin.margin == Triple(estimated=D("442.50"), actual=D(450), forecast=D(450))
    assert margin.per_crew_day == Triple(estimated=D(944), actual=D(864), forecast=D(864))
    assert (
        margin.moved_by == "Material costs $70.00 less than estimated: $160.00 instead of $230.00."
    )
    assert margin.kinds[1].basis == "Finished: the receipts."


@pytest.mark.parametrize(
    ("changes", "minutes", "cost", "basis"),
    [
        # No unit is done: the greater of the two, each for itself.
        ({"worked_min": 250, "worked_cost": D(200)}, 250, "240", "Over its estimate already"),
        ({"worked_min": 100, "worked_cost": D(250)}, 240, "250", "Over its estimate already"),
        ({"worked_min": 100, "worked_cost": D(100)}, 240, "240", "The estimate, until"),
        # A faster crew is believed: 100 + 2 x 50 = 200 min, in money 100 + 2 x 50.
        (
            {"worked_min": 100, "worked_cost": D(100), "units": Units(name="u", planned=4, done=2)},
            200,
            "200.00",
            "2 of 4 u; the other 2",
        ),
        # 100 x 3 / 2 = 150; 100.01 x 3 / 2 = 150.015, half a cent up.
        (
            {
                "worked_min": 100,
                "worked_cost": D("100.01"),
                "units": Units(name="u", planned=3, done=2),
            },
            150,
            "150.02",
            "2 of 3 u",
        ),
        # Units without hours to them, and hours without units, tell no rate.
        ({"units": Units(name="u", planned=4, done=2)}, 240, "240", "The estimate, until"),
        (
            {"worked_min": 300, "worked_cost": D(9), "units": Units(name="u", planned=4, done=0)},
            300,
            "240",
            "Over its estimate",
        ),
        # More units than planned leave none to do.
        (
            {"worked_min": 300, "worked_cost": D(310), "units": Units(name="u", planned=4, done=5)},
            300,
            "310.00",
            "All 4 u",
        ),
        (
            {"worked_min": 30, "worked_cost": D(31), "is_finished": True},
            30,
            "31",
            "Finished: what it took.",
        ),
        ({"is_finished": True}, 240, "240", "Finished, but no hours are written down"),
    ],
)
def test_forecast_of_one_phase(
    changes: dict[str, Any], minutes: int, cost: str, basis: str
) -> None:
    row = margin_of(job(phase(**changes))).phases[0]
    assert (row.minutes.forecast, row.cost.forecast) == (D(minutes), D(cost))
    assert row.basis.startswith(basis)


def test_finished_phase_without_hours_took_none_where_others_have_theirs() -> None:
    dig = phase(is_finished=True)
    margin = margin_of(job(dig, phase("hang", worked_min=60, worked_cost=D(60))))
    assert by_key(margin)["dig"].cost.forecast == 0


@pytest.mark.parametrize(
    ("receipts", "is_over", "forecast", "basis"),
    [
        ((), False, "200", "The estimate, until the job is finished."),
        (("150",), False, "200", "The estimate, until the job is finished."),
        (("150", "60.10"), False, "210.10", "The receipts: they are over the estimate already."),
        (("150",), True, "150", "Finished: the receipts."),
        # Bought for two jobs and given back: really nothing.
        (("150", "-150"), True, "0", "Finished: the receipts."),
        ((), True, "200", "Finished without a receipt of this kind: the estimate."),
    ],
)
def test_forecast_of_a_kind_of_cost(
    receipts: tuple[str, ...], is_over: bool, forecast: str, basis: str
) -> None:
    kind = KindFacts(
        key="material", name="Material", sold=D(200), receipts=tuple(D(each) for each in receipts)
    )
    row = margin_of(job(kinds=(kind,), is_finished=is_over)).kinds[1]
    assert (row.cost.forecast, row.basis) == (D(forecast), basis)


@pytest.mark.parametrize(
    ("used", "done", "left", "forecast"),
    [
        # 27 planned at 5.35. 12 in 4 posts, 9 left: 12 + 27 = 39: 12 more, 64.20.
        ("12", 4, 9, "264.20"),
        # Fewer than planned save nothing yet: they are bought.
        ("6", 4, 9, "200"),
        # 12.5 in 4 posts, 5 left: 12.5 + 15.625 = 28.125: 1.125 over is 2 whole bags, 10.70.
        ("12.5", 4, 5, "210.70"),
        # All posts set: what was used. Bags without a post to them: the same.
        ("30", 13, 0, "216.05"),
        ("30", 0, 13, "216.05"),
        ("0", 3, 10, "200"),
    ],
)
def test_bags_over_the_plan_count_as_material(
    used: str, done: int, left: int, forecast: str
) -> None:
    bags = BagFacts(planned=27, used=D(used), done=done, left=left, cost_of_one=D("5.35"))
    assert margin_of(job(bags=bags)).kinds[1].cost.forecast == D(forecast)


def test_bags_over_the_plan_count_at_the_end_where_no_receipt_replaces_them() -> None:
    bags = BagFacts(planned=27, used=D(30), done=13, left=0, cost_of_one=D("5.35"))
    row = margin_of(job(bags=bags, is_finished=True)).kinds[1]
    assert row.cost.forecast == D("216.05")
    assert row.basis == (
        "Finished without a receipt of this kind: the estimate and 3 more bags than planned,"
        " at $5.35."
    )


@pytest.mark.parametrize(
    ("method", "rate", "overhead"),
    [
        # 12 % of 1,000.00; 10 h x 18.50; 10 h / (2 x 8 h) x 900.00 = 562.50.
        ("percent_of_direct", "12", "120.00"),
        ("per_labor_hour", "18.50", "185.00"),
        ("per_crew_day", "900", "562.50"),
    ],
)
def test_overhead_follows_the_firms_method(method: str, rate: str, overhead: str) -> None:
    rule = FirmRule(
        crew_rate=D(60),
        crew_size=2,
        hours_per_day=D(8),
        overhead_method=method,
        overhead_rate=D(rate),
        commission_pct=D(0),
    )
    assert overhead_on(D(1000), D(10), rule) == D(overhead)


def test_job_without_rules_keeps_its_overhead_and_knows_no_crew_days() -> None:
    changes = ChangeFacts(price=D(100), direct_cost=D(40), hours=D(1))
    margin = margin_of(job(rule=None, changes=changes))
    assert margin.overhead == Triple(estimated=D(90), actual=D(90), forecast=D(90))
    assert margin.commission == D(50)
    # Without a crew rate all of the change's cost is material: 200 + 40.
    assert margin.kinds[1].cost.estimated == D(240)
    assert margin.crew_days is None
    assert margin.per_crew_day is None


def test_job_without_price_or_hours_has_no_percentage_and_no_figure_a_crew_day() -> None:
    margin = margin_of(job(phase(hours="0", cost="0"), price=D(0)))
    assert margin.pct is None
    assert margin.per_crew_day is None


def test_dearer_people_are_named_as_such() -> None:
    margin = margin_of(
        job(phase(worked_min=240, worked_cost=D(280), is_finished=True)),
    )
    assert margin.moved_by == (
        "Digging costs $40.00 more than estimated: 4 h as estimated, at another rate."
    )


def test_minutes_are_spread_without_losing_one() -> None:
    # 100 over 1 : 1 : 1 is 33.33 each; the first gets the minute left.
    assert spread_minutes(100, [D(1), D(1), D(1)]) == [34, 33, 33]
    # 475 over 6.3 : 4.54 = 276.06 and 198.94: the larger remainder is the second's.
    assert spread_minutes(475, [D("6.3"), D("4.54")]) == [276, 199]
    assert spread_minutes(9, [D(0), D(0)]) == [5, 4]


def test_hours_are_written_to_the_hundredth() -> None:
    assert [hour_words(D(each)) for each in ("9.50", "10", "6.333", "0", "0.005")] == [
        "9.5",
        "10",
        "6.33",
        "0",
        "0.01",
    ]
