"""What a price for posts only saves, as the trade's handbook works it (section 4).

Common practice, no source, for its rates; the run of 96 ft is invented there and here.
"""

from decimal import Decimal

import pytest

from estimating.engine.scopes import ScopePrice, compare_scopes
from estimating.engine.site import Conditions, Site
from tests.starter_cases import fence_line, starter_catalog

pytestmark = pytest.mark.source("N", "common practice, no source: the trade's posts-only split")


@pytest.fixture
def scopes() -> dict[str, ScopePrice]:
    """96 ft of vinyl between two ends, no gate; permit and travel of $350 in either scope."""
    site = Site(
        name="Handbook",
        lines=(fence_line("vinyl_privacy_6ft", [96.0]),),
        conditions=Conditions(dig_method="skid_steer", trips=2, permit_fee="180"),
    )
    return {each.key: each for each in compare_scopes(site, starter_catalog())}


def test_thirteen_posts_and_twelve_bays(scopes: dict[str, ScopePrice]) -> None:
    assert (scopes["whole_fence"].posts, scopes["whole_fence"].bays) == (13, 12)


def test_only_the_hanging_falls_away(scopes: dict[str, ScopePrice]) -> None:
    # The handbook: 12 x 0.50 + 1.5 + 1.0 = 8.5 h. Its last hour, the load at the yard, is counted
    # once a job here, so that posts only bears it too: 7.5 h at $62.
    left = scopes["posts_only"].self_built
    assert left is not None

    assert left.hours == pytest.approx(7.5)
    assert left.saves_cost == Decimal("465.00")


def test_the_saving_is_a_tenth_of_the_whole_s_direct_cost(scopes: dict[str, ScopePrice]) -> None:
    # The handbook: $527 of $5,050, "10 %".
    left = scopes["posts_only"].self_built
    assert left is not None

    assert 100 * left.saves_cost / scopes["whole_fence"].direct_cost == pytest.approx(
        Decimal(10), abs=Decimal("0.5")
    )


def test_dig_and_set_is_the_bigger_part_of_the_labour(scopes: dict[str, ScopePrice]) -> None:
    # The handbook: 15.7 of 24.2 h with set-up and spoil, 65 %. With the yard's load that posts
    # only bears here too, 17 of 24.5 h, some two thirds.
    share = scopes["posts_only"].hours / scopes["whole_fence"].hours

    assert 0.60 < share < 0.72
