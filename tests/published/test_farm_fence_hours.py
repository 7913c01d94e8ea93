"""Hours of a straight quarter mile of woven wire, by an extension service's cost sheet.

Iowa State University Extension (W. Edwards), told in agriculture.com on 29 February 2012: 1,320 ft,
4 eight-inch posts, 57 four-inch posts, 55 steel posts, woven wire and a barbed strand, 42 h.
"""

from dataclasses import replace

import pytest

from estimating.engine.estimate import estimate
from estimating.engine.result import EstimateResult
from estimating.engine.site import FenceLine, Leg, Site
from tests.starter_cases import starter_catalog

SOURCE = "an extension service's cost sheet of 2012: 42 h for 1,320 ft of woven wire"


def quarter_mile(**changes: object) -> EstimateResult:
    catalog = starter_catalog()
    fence = replace(catalog.systems["field_fence_4ft"], **changes)  # type: ignore[arg-type]
    line = FenceLine(id="A", name="", system=fence.key, legs=(Leg(length_in=1320 * 12.0),))
    return estimate(Site(name="", lines=(line,)), replace(catalog, systems={fence.key: fence}))


def hours(result: EstimateResult, *phases: str) -> float:
    return sum(each.labor_hours for each in result.hours if each.phase in phases)


@pytest.mark.source("S", SOURCE)
def test_posts_and_braces_are_the_sheet_s() -> None:
    # 1,320 / 12 = 110 bays and 111 posts; the sheet has 57 + 55 in line and 4 for two braces.
    (line,) = quarter_mile(pull_every_in=None).lines
    assert len(line.bays) == 110
    assert abs(len(line.posts) - (57 + 55)) <= 1


@pytest.mark.source("S", SOURCE)
def test_driven_posts_and_two_braces_take_about_the_sheet_s_hours() -> None:
    # 111 driven at 0.15 + 2 braces x 3 + 1,320 x 0.010 + 2 x 0.25 = 36.35, and 42 of the sheet,
    # which has 57 + 55 posts of two kinds and steel ones to be clipped.
    built = quarter_mile(pull_every_in=None, setting="driven")
    assert hours(built, "dig") == 0
    assert hours(built, "set", "hang") == pytest.approx(36.35, abs=0.01)
    assert hours(built, "set", "hang") == pytest.approx(42, rel=0.15)


@pytest.mark.source(
    "C", "the same run with every post in a dug hole, worked from the starter's rates"
)
def test_dug_holes_are_what_the_starter_s_fence_takes_more() -> None:
    # 113 holes of 0.9 h with the two-man auger: 101.7.
    built = quarter_mile()
    assert hours(built, "dig") == pytest.approx(113 * 0.9, abs=0.01)
