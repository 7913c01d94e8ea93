"""What would pass: each change worked by hand, and its cost against an estimate made apart."""

from dataclasses import replace
from decimal import Decimal

import pytest

from estimating.engine.estimate import estimate
from estimating.engine.footing_variants import Variant, what_would_pass
from estimating.engine.site import Conditions, NoDigStrip, Site
from tests.starter_cases import fence_line, starter_catalog

TOWN = Conditions(wind_speed_mph=90.0, exposure="B")
CHAIN_LINK = Site(name="Made up", lines=(fence_line("chain_link_6ft", [120]),), conditions=TOWN)


@pytest.fixture(scope="module")
def of_chain_link() -> dict[str, Variant]:
    return {each.kind: each for each in what_would_pass(CHAIN_LINK, starter_catalog())}


def cost(site: Site) -> Decimal:
    return estimate(site, starter_catalog()).money.direct_cost


def test_deeper_holes_as_deep_as_the_formula_asks(of_chain_link: dict[str, Variant]) -> None:
    # q 10.05: 10.05 x 0.85 x 1.3 is under 16 psf, so 0.6 x 16 x 0.133 x 60 ft2 = 76.6 lb at 3 ft.
    # b 9.5 in, clay, F 2: at d 2.731 ft A = 1.2435 and the formula gives 2.731: 32.8, so 33 in.
    deeper = of_chain_link["deeper"]

    assert (deeper.passes, deeper.figure_in) == (True, 33.0)
    # The same holes by way of a local rule of 33 in.
    by_rule = replace(CHAIN_LINK, conditions=replace(TOWN, local_hole_depth_in=33.0))
    assert deeper.cost_change == cost(by_rule) - cost(CHAIN_LINK)
    assert deeper.cost_change > 0
    assert deeper.outside == 2  # the ends: their fabric's pull


def test_wider_holes_by_two_inches(of_chain_link: dict[str, Variant]) -> None:
    # d 2.5, h 3: A = 6.25 / 5.77 = 1.0832; S1 = 166.7; b = 76.6 x 2.34 / 180.5 = 0.993 ft: 12 in.
    wider = of_chain_link["wider"]
    assert (wider.passes, wider.figure_in) == (True, 12.0)
    assert wider.cost_change is not None
    assert wider.cost_change > 0


def test_closer_posts_by_six_inches(of_chain_link: dict[str, Variant]) -> None:
    # 30 x 9.5 in hold 180.5 x 0.7917 / 2.34 = 61.1 lb, 95.7 in of fence: 96 in are too many yet.
    closer = of_chain_link["closer"]
    assert (closer.passes, closer.figure_in) == (True, 90.0)
    assert closer.price_change is not None
    assert closer.cost_change is not None
    assert closer.price_change > closer.cost_change > 0


def test_no_lighter_system_is_named_where_there_is_none(of_chain_link: dict[str, Variant]) -> None:
    assert not of_chain_link["lighter"].passes
    assert "no more open one" in of_chain_link["lighter"].reason
    assert "together" not in of_chain_link


def test_solid_fence_in_open_country_passes_by_none_alone_and_by_a_lighter_infill() -> None:
    site = replace(
        CHAIN_LINK,
        lines=(fence_line("vinyl_privacy_6ft", [120]),),
        conditions=Conditions(wind_speed_mph=115.0, exposure="C"),
    )
    variants = what_would_pass(site, starter_catalog())
    found = {each.kind: each for each in variants}

    for kind in ("deeper", "wider", "closer", "together"):
        assert not found[kind].passes
        assert found[kind].reason
        assert found[kind].cost_change is None
    lighter = next(each for each in variants if each.system_name == "Chain link 6 ft")
    assert (lighter.kind, lighter.passes) == ("lighter", True)
    # 129.5 lb at 3 ft on 9.5 in in clay, F 2: A = 1.7085 at d 3.362 ft, 40.3, so 41 in.
    assert lighter.figure_in == 41.0
    as_deep = replace(
        site,
        lines=(fence_line("chain_link_6ft", [120]),),
        conditions=replace(site.conditions, local_hole_depth_in=41.0),
    )
    assert lighter.cost_change == cost(as_deep) - cost(site)


def test_closer_wider_and_deeper_together_where_none_alone_does() -> None:
    site = replace(CHAIN_LINK, lines=(fence_line("vinyl_privacy_6ft", [120]),))
    found = {each.kind: each for each in what_would_pass(site, starter_catalog())}

    together = found["together"]
    assert not any(found[kind].passes for kind in ("deeper", "wider", "closer"))
    assert together.passes
    assert together.figure_in is not None
    assert together.figure_in <= 84
    assert together.diameter_in in (12.0, 18.0, 24.0)
    assert together.spacing_in in (96.0, 72.0, 60.0, 48.0)
    assert together.cost_change is not None
    assert together.cost_change > 0


def test_nothing_is_asked_for_where_no_post_is_short_or_none_is_judged() -> None:
    deep = replace(CHAIN_LINK, conditions=replace(TOWN, local_hole_depth_in=36.0))
    no_wind = replace(CHAIN_LINK, conditions=Conditions())

    assert what_would_pass(deep, starter_catalog()) == ()
    assert what_would_pass(no_wind, starter_catalog()) == ()


def test_a_change_that_meets_a_mark_says_so() -> None:
    # Post 2 stands at 10 ft in a hole of 9.5 in; a bank of pipes 98 in wide lies 54 in from its
    # centre: 54 - 4.75 = 49.25, and half the bank is 49. A hole of 12 in reaches into it: no post
    # can stand from 66 - 49 - 6 = 11 to 121 in then, and the next bay can be 120 in at most.
    strip = NoDigStrip(station_in=66.0, facility_width_in=98.0, utility="gas", hand_dig=True)
    line = replace(CHAIN_LINK.lines[0], no_dig=(strip,))
    site = replace(CHAIN_LINK, lines=(line,))
    wider = {each.kind: each for each in what_would_pass(site, starter_catalog())}["wider"]

    assert any("mark itself" in each for each in wider.new_stops)
