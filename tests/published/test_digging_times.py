"""Starter rates of digging against times that people wrote down.

A hobby contractor's blog: two men with a loader, 55 holes of 36 in, 11 minutes a hole over the
day. A tractor forum: two people with a hand-held auger in wet clay, 6 hours for 8 holes. A general
forum: 20 minutes for a hole of 8 x 18 in by hand.
"""

import math

import pytest

from tests.starter_cases import starter_catalog

HOURS = starter_catalog().rates.hours


@pytest.mark.source("S", "a hobby contractor's blog: 55 holes, 11 minutes each, two men")
def test_a_loader_s_hole_takes_two_men_eleven_minutes() -> None:
    # 2 x 11 / 60 = 0.367 labour hours, roots and rock in it: between the two machines' rates in
    # normal ground.
    assert HOURS["dig.normal.skid_steer"] <= 2 * 11 / 60 <= HOURS["dig.normal.mini_loader"]


@pytest.mark.source("S", "a tractor forum: 8 holes in 6 hours, two people, wet clay")
def test_a_hand_held_auger_in_sticky_clay_takes_an_hour_and_a_half() -> None:
    # 2 x 6 / 8 = 1.5 labour hours.
    assert HOURS["dig.stiff.two_man_auger"] == pytest.approx(1.5, rel=0.1)


@pytest.mark.source("S", "a general forum: 20 minutes for 8 x 18 in by hand, scaled by volume")
def test_a_hole_by_hand_scales_from_a_forum_s_twenty_minutes() -> None:
    # 10 to 12 in by 36 in is 3.1 to 4.5 times the volume: 1.04 to 1.50 h. The starter's rate is
    # for 10 to 12 by 30 to 36 in "cleaned by hand", the least certain of all: within a tenth.
    small_in3 = math.pi / 4 * 8**2 * 18
    low, high = (math.pi / 4 * d**2 * 36 / small_in3 / 3 for d in (10, 12))

    assert (low, high) == pytest.approx((1.04, 1.50), abs=0.005)
    assert low <= HOURS["dig.normal.hand"] <= 1.1 * high


@pytest.mark.source("N", "common practice, no source: the trade's table of digging rates")
@pytest.mark.parametrize(
    ("soil", "row"),
    [
        ("sand", (0.25, 0.30, 0.6, (0.8, 1.0))),
        ("normal", (0.35, 0.40, 0.9, (1.5, 1.8))),
        ("stiff", (0.5, 0.6, 1.4, (2.5, 2.5))),
        ("shale", (0.9, 1.1, None, (4.0, 4.0))),  # a two-man auger "often fails"
    ],
)
def test_rates_are_the_handbook_s(
    soil: str, row: tuple[float, float, float | None, tuple[float, float]]
) -> None:
    skid_steer, mini_loader, auger, (fastest, slowest) = row

    assert HOURS[f"dig.{soil}.skid_steer"] == skid_steer
    assert HOURS[f"dig.{soil}.mini_loader"] == mini_loader
    assert HOURS.get(f"dig.{soil}.two_man_auger") == auger
    assert fastest <= HOURS[f"dig.{soil}.hand"] <= slowest
