"""Labour hours as the trade's handbook counts them: the worked run, shares, slope, rock, crew.

Common practice, no source. Accounts of digging that were found in print: test_digging_times.py.
"""

from dataclasses import replace

import pytest

from estimating.engine.catalog import Catalog
from estimating.engine.result import EstimateResult, Work
from estimating.engine.site import BayPin, Conditions, GroundShot
from tests.starter_cases import estimate_line, fence_line, starter_catalog

PRACTICE = pytest.mark.source("N", "common practice, no source")
MACHINE = Conditions(dig_method="skid_steer")
METHODS = ("skid_steer", "mini_loader", "two_man_auger", "hand")
RATES = starter_catalog().rates.hours


def works(result: EstimateResult) -> list[Work]:
    return [work for hours in result.hours for work in hours.works]


def hours_of(result: EstimateResult, *rates: str) -> float:
    return sum(work.labor_hours for work in works(result) if work.rate in rates)


def run_96_ft(
    system: str = "vinyl_privacy_6ft",
    conditions: Conditions = MACHINE,
    book: Catalog | None = None,
    rise_ft: float = 0.0,
) -> EstimateResult:
    """The handbook's 96 ft between two end posts, rising evenly from its start to its end."""
    shots = (
        GroundShot(station_in=0.0, elevation_in=0.0),
        GroundShot(station_in=1152.0, elevation_in=rise_ft * 12),
    )
    return estimate_line(fence_line(system, [96.0], ground=shots), book, conditions)


def handbook_s_own_holes() -> Catalog:
    """Return the starter set with what the handbook's run was worked with.

    Holes of 12 x 30 in, filled to the ground, 3 % of concrete over: 13 x 1.9635 x 1.03 / 0.6 =
    43.8 -> its 44 bags; soil 13 x 1.9635 x 1.25 / 27 = 1.18 yd3, as it says.
    """
    book = starter_catalog()
    system = book.systems["vinyl_privacy_6ft"]
    hole = replace(system.hole, base_depth_in=30.0, concrete_top_in=0.0)
    return replace(
        book,
        systems={system.key: replace(system, hole=hole)},
        rules=replace(book.rules, concrete_waste_pct=3.0),
    )


@PRACTICE
def test_the_handbook_s_vinyl_run_takes_15_7_hours_to_dig_and_set_and_8_5_to_hang() -> None:
    result = run_96_ft(book=handbook_s_own_holes())
    assert result.concrete.bags == 44
    one_visit = hours_of(result, "setup.phase") / 2

    # Layout 1.96 + set-up 1.50 + dig 13 x 0.35 + place 11 x 0.25 + 2 x 0.35 + mix 44 x 0.07
    # + spoil 1.18 = 15.72.
    dig_and_set = one_visit + sum(
        work.labor_hours
        for work in works(result)
        if work.phase in {"layout", "dig", "set"} or work.rate == "spoil.spread_yd3"
    )
    assert one_visit == 1.5
    assert round(dig_and_set, 1) == 15.7
    # Hang 12 x 0.50, a visit's set-up 1.5, loading 1.0.
    hang = hours_of(result, "hang.vinyl_bay", "clean_up.yard_load") + one_visit
    assert round(hang, 1) == 8.5
    assert round(result.total_hours, 1) == 24.2
    assert round(dig_and_set / result.total_hours, 2) == 0.65


@PRACTICE
@pytest.mark.parametrize(
    ("system", "least_pct", "most_pct"),
    [
        ("vinyl_privacy_6ft", 60, 70),
        ("steel_panel_4ft", 60, 70),
        ("aluminium_panel_4ft", 60, 70),
        ("chain_link_4ft", 55, 62),
        ("chain_link_6ft", 55, 62),
        ("wood_privacy_lapped_6ft", 50, 55),
    ],
)
def test_digging_and_setting_takes_the_share_the_handbook_gives(
    system: str, least_pct: int, most_pct: int
) -> None:
    # Its 65 % counts a visit's set-up and the spoil with the digging, and the other visit's
    # set-up and the loading with the hanging.
    result = run_96_ft(system)
    hang = sum(work.labor_hours for work in works(result) if work.phase in {"hang", "gates"})
    hang += hours_of(result, "setup.phase") / 2 + hours_of(result, "clean_up.yard_load")

    assert least_pct <= round(100 * (1 - hang / result.total_hours)) <= most_pct


@PRACTICE
@pytest.mark.parametrize("method", METHODS)
def test_stiff_soil_takes_1_4_to_1_6_times_the_normal_and_shale_2_to_3(method: str) -> None:
    normal = RATES[f"dig.normal.{method}"]

    assert 1.4 <= RATES[f"dig.stiff.{method}"] / normal <= 1.6
    # A two-man auger often fails in shale: it has no rate there.
    if method != "two_man_auger":
        assert 2.0 <= RATES[f"dig.shale.{method}"] / normal <= 3.0


@PRACTICE
def test_a_two_man_auger_has_no_rate_in_shale_and_the_estimate_stops_for_it() -> None:
    shale = Conditions(soil_class="shale", dig_method="two_man_auger")
    found = [f for f in run_96_ft(conditions=shale).findings if f.severity == "stop"]

    assert [f.place for f in found] == ["rates.hours.dig.shale.two_man_auger"]


@PRACTICE
def test_ground_over_10_percent_makes_digging_setting_and_hanging_dearer_by_15_to_25() -> None:
    # 96 ft that rise 11.52 ft: 12 %.
    level, steep = run_96_ft(), run_96_ft(rise_ft=11.52)

    for phase in ("dig", "hang"):
        was, now = (
            sum(work.labor_hours for work in works(result) if work.phase == phase)
            for result in (level, steep)
        )
        assert 1.15 <= now / was <= 1.25
    # Placing the posts goes up with the slope, mixing their concrete does not.
    assert hours_of(steep, "set.line") == pytest.approx(11 * 0.25 * 1.2)
    assert hours_of(steep, "mix.bag") == pytest.approx(steep.concrete.bags * 0.07)


@PRACTICE
def test_ground_of_10_percent_is_not_over_it() -> None:
    assert run_96_ft(rise_ft=9.6).hours[1].labor_hours == pytest.approx(13 * 0.35)


@PRACTICE
def test_over_25_percent_is_hand_work() -> None:
    # 28 %: 13 holes at the hand's 1.65, the middle of 1.5 to 1.8, times 1.2.
    steep = run_96_ft(rise_ft=26.88)

    assert hours_of(steep, "dig.normal.skid_steer") == 0
    assert hours_of(steep, "dig.normal.hand") == pytest.approx(13 * 1.65 * 1.2)


@PRACTICE
@pytest.mark.parametrize(
    ("access_in", "rate"),
    [(35.0, "dig.normal.two_man_auger"), (44.0, "dig.normal.mini_loader")],
)
def test_a_machine_passes_a_gate_of_44_in_and_none_under_36(access_in: float, rate: str) -> None:
    narrow = Conditions(dig_method="mini_loader", access_width_in=access_in)

    assert hours_of(run_96_ft(conditions=narrow), rate) == pytest.approx(13 * RATES[rate])


@PRACTICE
def test_rock_takes_one_and_a_half_to_four_hours_a_hole() -> None:
    rock = run_96_ft(conditions=replace(MACHINE, rock_holes=2))

    assert 1.5 <= hours_of(rock, "dig.rock_hole") / 2 <= 4.0
    assert hours_of(rock, "dig.normal.skid_steer") == pytest.approx(11 * 0.35)


@PRACTICE
def test_rain_digs_a_hole_again_in_0_2_and_frost_costs_0_3_a_hole() -> None:
    weather = replace(MACHINE, wet_holes=5, frozen_ground=True)
    result = run_96_ft(conditions=weather)

    assert hours_of(result, "dig.again") == pytest.approx(1.0)
    assert hours_of(result, "dig.frost_extra") == pytest.approx(3.9)
    assert hours_of(run_96_ft(), "dig.again", "dig.frost_extra") == 0


@PRACTICE
def test_three_people_50_minutes_on_the_road_are_2_5_hours_every_trip() -> None:
    far = run_96_ft(conditions=replace(MACHINE, drive_min=50.0))

    assert far.trips == 2
    assert far.total_hours - run_96_ft().total_hours == pytest.approx(2 * 2.5)


@PRACTICE
@pytest.mark.parametrize(("people", "each_visit"), [(2, 1.0), (3, 1.5), (4, 2.0)])
def test_setting_up_takes_half_an_hour_of_each_of_the_crew(people: int, each_visit: float) -> None:
    book = starter_catalog()
    crew = replace(book, rules=replace(book.rules, crew_size=people))

    assert hours_of(run_96_ft(book=crew), "setup.phase") == pytest.approx(2 * each_visit)


@PRACTICE
def test_a_crew_of_four_waits_10_to_15_percent_on_a_short_fence_dug_by_machine() -> None:
    book = starter_catalog()
    four = replace(book, rules=replace(book.rules, crew_size=4))

    def dig_hours(length_ft: float, conditions: Conditions, catalog: Catalog) -> float:
        line = fence_line("vinyl_privacy_6ft", [length_ft])
        result = estimate_line(line, catalog, conditions)
        return next(each.labor_hours for each in result.hours if each.phase == "dig")

    assert 1.10 <= dig_hours(96.0, MACHINE, four) / dig_hours(96.0, MACHINE, book) <= 1.15
    # From about 300 ft it pays, and where holes are dug by hand.
    by_hand = Conditions(dig_method="hand")
    assert dig_hours(300.0, MACHINE, four) == dig_hours(300.0, MACHINE, book)
    assert dig_hours(296.0, MACHINE, four) > dig_hours(296.0, MACHINE, book)
    assert dig_hours(96.0, by_hand, four) == dig_hours(96.0, by_hand, book)


@PRACTICE
@pytest.mark.parametrize(
    ("system", "extra_h"), [("vinyl_privacy_6ft", 0.0), ("wood_picket_4ft", 0.05)]
)
def test_a_wood_post_is_braced_and_takes_0_05_more_than_a_vinyl_one(
    system: str, extra_h: float
) -> None:
    result = run_96_ft(system)
    posts = len(result.lines[0].posts)

    placed = hours_of(result, "set.line", "set.end", "set.bracing")
    assert placed == pytest.approx((posts - 2) * 0.25 + 2 * 0.35 + posts * extra_h)


@PRACTICE
def test_each_step_takes_0_15_to_mark() -> None:
    # The handbook's stepped example: 48 ft in 6 bays that fall 30 in. Every bay is pinned to a
    # step, level at its uphill post: steps at posts 2 to 6, and none where the fence ends.
    shots = (
        GroundShot(station_in=0.0, elevation_in=0.0),
        GroundShot(station_in=576.0, elevation_in=-30.0),
    )
    pins = tuple(BayPin(station_in=96.0 * bay + 48.0, follows="stepped") for bay in range(6))
    line = fence_line("vinyl_privacy_6ft", [48.0], ground=shots, bay_pins=pins)
    result = estimate_line(line, None, MACHINE)

    (marked,) = [work for work in works(result) if work.rate == "set.step"]
    assert marked.posts == (2, 3, 4, 5, 6)
    assert marked.labor_hours == pytest.approx(5 * 0.15)


@PRACTICE
def test_a_long_barrow_adds_half_to_mixing() -> None:
    near, far = run_96_ft(), run_96_ft(conditions=replace(MACHINE, long_barrow=True))

    assert hours_of(far, "mix.bag") == pytest.approx(1.5 * hours_of(near, "mix.bag"))
