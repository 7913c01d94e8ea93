"""Labour hours by phase, machine days and trips."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

import pytest

from estimating.engine.footings import dig
from estimating.engine.labor import Labor, work_out
from estimating.engine.result import LineLayout
from estimating.engine.site import Conditions
from tests.engine_cases import WOOD, catalog, gate, straight_line


def labor(
    *lines: LineLayout,
    conditions: Conditions | None = None,
    hand_set: Mapping[str, Decimal] | None = None,
    equipment: Mapping[str, str] | None = None,
) -> Labor:
    book = catalog(equipment=dict(equipment or {}))
    site = conditions or Conditions(dig_method="skid_steer")
    return work_out(lines, book, site, dig(lines, book, site), hand_set=hand_set or {})


def hours(found: Labor) -> dict[str, float]:
    return {each.phase: each.labor_hours for each in found.hours}


def test_hours_by_phase_add_up_from_the_rates() -> None:
    found = hours(labor(straight_line(bays=12, gates=[gate()])))

    # 96 ft of fence and 51.5 in of gate: 1.0 + 0.01 x 100.2917.
    assert found["layout"] == pytest.approx(2.002917, abs=1e-6)
    # 13 holes x 0.35.
    assert found["dig"] == pytest.approx(4.55)
    # 11 x 0.25 + 2 x 0.35 + 51 bags x 0.07; 13 x 2.1010 x 1.1 / 0.6 = 50.07 bags.
    assert found["set"] == pytest.approx(7.02)
    assert found["hang"] == pytest.approx(6.0)
    assert found["gates"] == pytest.approx(1.25)
    # Two set-ups and one loading, and 13 x 2.3562 x 1.25 / 27 = 1.4181 yd3 spread.
    assert found["clean_up"] == pytest.approx(2 * 1.5 + 1.0 + 1.4181, abs=5e-5)


def test_posts_only_hangs_nothing_and_sets_up_once() -> None:
    found = labor(straight_line(bays=12, scope="posts_only", gates=[gate()]))

    assert set(hours(found)) == {"layout", "dig", "set", "clean_up"}
    assert hours(found)["clean_up"] == pytest.approx(1.5 + 1.0 + 1.4181, abs=5e-5)
    assert found.trips == 1


def test_removal_goes_by_the_foot_and_by_the_footing() -> None:
    # 24 ft x 0.05, and the old footings that were counted: 4 x 0.4.
    line = replace(straight_line(bays=3, scope="removal"), old_footings=4)
    assert hours(labor(line))["removal"] == pytest.approx(2.8)


def test_footings_nobody_counted_take_no_hours() -> None:
    # 24 ft x 0.05.
    assert hours(labor(straight_line(bays=3, scope="removal")))["removal"] == pytest.approx(1.2)


def test_a_post_dug_by_hand_takes_the_hand_s_rate_whatever_the_machine() -> None:
    line = straight_line(bays=2)
    by_hand = replace(line.posts[1], hand_dig=True)
    line = replace(line, posts=(line.posts[0], by_hand, line.posts[2]))

    assert hours(labor(line))["dig"] == pytest.approx(2 * 0.35 + 1.6)


def test_a_long_barrow_makes_mixing_slower() -> None:
    near = hours(labor(straight_line(bays=12)))["set"]
    far_away = Conditions(dig_method="skid_steer", long_barrow=True)
    far = hours(labor(straight_line(bays=12), conditions=far_away))["set"]

    assert far - near == pytest.approx(51 * 0.07 * 0.5)


def test_dry_bags_have_a_rate_of_their_own() -> None:
    system = replace(WOOD, setting="dry_pack")
    book = catalog(system)
    line = straight_line(bays=10, system=system)
    site = Conditions(dig_method="skid_steer")
    found = work_out([line], book, site, dig([line], book, site), hand_set={})

    # 49.5 bags go dry into 11 holes; the half bag left of 50 is nobody's to put in, yet is counted
    # with the wet ones: 9 x 0.25 + 2 x 0.35 + 49.5 x 0.03 + 0.5 x 0.07.
    assert hours(found)["set"] == pytest.approx(4.47)


def test_cut_bays_take_longer() -> None:
    system = replace(WOOD, labor={**WOOD.labor, "hang_cut_bay": "setup.phase"})
    book = catalog(system)
    line = straight_line(bays=2, system=system, is_cut=True)
    site = Conditions(dig_method="skid_steer")
    found = work_out([line], book, site, dig([line], book, site), hand_set={})

    assert hours(found)["hang"] == pytest.approx(2 * 0.5 + 2 * 1.5)


def test_machine_days_are_rounded_up_to_the_half_day() -> None:
    # 13 x 0.35 = 4.55 h of 24 crew hours -> half a day; 101 holes 35.35 h = 1.47 -> 1.5 days.
    machine = {"skid_steer": "machine"}
    assert labor(straight_line(bays=12), equipment=machine).equipment_days == 0.5
    assert labor(straight_line(bays=100), equipment=machine).equipment_days == 1.5
    assert labor(straight_line(bays=100)).equipment_days == 0.0


def test_trips_can_be_given() -> None:
    given = Conditions(dig_method="skid_steer", trips=4)

    assert labor(straight_line(bays=2)).trips == 2
    assert labor(straight_line(bays=2), conditions=given).trips == 4


def test_hours_set_by_hand_replace_a_phase() -> None:
    found = labor(straight_line(bays=12), hand_set={"dig": Decimal("9.5")})
    dig_phase = next(each for each in found.hours if each.phase == "dig")

    assert dig_phase.labor_hours == 9.5
    assert dig_phase.trace[-1].rule == "set by hand"


def test_a_missing_rate_is_found_and_counts_nothing() -> None:
    shale = Conditions(soil_class="normal", dig_method="blasting")
    found = labor(straight_line(bays=2), conditions=shale)

    assert hours(found)["dig"] == 0.0
    assert [(f.code, f.severity, f.place) for f in found.findings] == [
        ("missing-rate", "stop", "rates.hours.dig.normal.blasting")
    ]
