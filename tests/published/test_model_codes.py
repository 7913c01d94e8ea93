"""The starter's rules against model building codes, as states and cities print them.

IBC 1809.4: footings at least 12 in below undisturbed ground. IBC 1809.5 (Minnesota Rules
1305.1809): to the frost line or below. IRC R105.2 item 2 (a city's page, 2015 edition): fences to
7 ft need no permit. ASTM F1999, scope: vinyl fence where frost is 30 in or less.
"""

from dataclasses import replace

import pytest

from estimating.engine.footings import dig
from estimating.engine.place_findings import VINYL_FROST_IN
from estimating.engine.site import Conditions
from tests.engine_cases import straight_line
from tests.starter_cases import starter_catalog

PANEL_FENCES = [key for key, s in starter_catalog().systems.items() if s.family == "panel"]


@pytest.mark.source("S", "IBC section 1809.4, Minnesota Rules 1305.1809")
def test_no_starter_hole_is_under_twelve_inches_deep() -> None:
    catalog = starter_catalog()
    lines = [straight_line(bays=2, system=system) for system in catalog.systems.values()]

    assert min(hole.depth_in for hole in dig(lines, catalog, Conditions()).holes) >= 12


@pytest.mark.source("S", "IBC section 1809.5, Minnesota Rules 1305.1809")
@pytest.mark.parametrize("frost_in", [30.0, 42.0, 60.0])
def test_every_hole_reaches_the_frost_line(frost_in: float) -> None:
    catalog = starter_catalog()
    for system in catalog.systems.values():
        line = straight_line(bays=2, system=system)
        holes = dig([line], catalog, Conditions(frost_depth_in=frost_in)).holes
        assert min(hole.depth_in for hole in holes) >= frost_in


@pytest.mark.source("S", "IRC R105.2 item 2, 2015 edition, on a city's page: 7 ft (2,134 mm)")
def test_fences_to_seven_feet_are_free_of_a_permit_in_the_model_code() -> None:
    limit_in = starter_catalog().rules.permit_free_height_in

    assert limit_in == 84
    assert limit_in * 25.4 == pytest.approx(2134, abs=0.5)


@pytest.mark.source("S", "ASTM F1999, scope: frost of 30 in (76 cm) or less")
def test_vinyl_practice_ends_at_thirty_inches_of_frost() -> None:
    assert VINYL_FROST_IN == 30
    assert pytest.approx(76, abs=0.5) == VINYL_FROST_IN * 2.54


@pytest.mark.source("N", "common practice, no source: the deepest of four rules")
def test_the_town_s_own_depth_rules_where_it_is_the_deepest() -> None:
    catalog = starter_catalog()
    line = straight_line(bays=2, system=catalog.systems["vinyl_privacy_6ft"])
    deep = replace(Conditions(frost_depth_in=30.0), local_hole_depth_in=42.0)

    assert {(h.depth_in, h.depth_rule) for h in dig([line], catalog, deep).holes} == {
        (42.0, "local rule")
    }
