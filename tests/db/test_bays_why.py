"""Why a section's bays are as they are, in the words of the layout table."""

import pytest

from estimating.engine.result import MovedOff, Section
from estimating.templatetags.fence_words import bays_why
from firm.selectors.profile import units_of_one_request
from tests.factories import make_firm

pytestmark = pytest.mark.django_db


def section(divided: str, *moved_off: MovedOff) -> Section:
    return Section(
        number=1,
        line_id="A",
        start_station_in=0.0,
        length_in=276.0,
        bays=4,
        max_on_centre_in=96.0,
        from_kind="end",
        to_kind="end",
        divided=divided,
        moved_off=moved_off,
    )


GAS = MovedOff(what="gas mark", station_in=291.0)
OAK = MovedOff(what="oak", station_in=120.0)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (section(""), ""),
        (section("equal"), "equal on centre"),
        (section("full_and_short"), "full bays and a short one"),
        (
            section("most_even", GAS),
            "most even clear widths, posts moved off the gas mark at 24-3",
        ),
        (
            section("fewest_cuts", OAK, GAS),
            "fewest cut bays, posts moved off the oak at 10-0 and the gas mark at 24-3",
        ),
    ],
)
def test_one_sentence_for_each_way_of_dividing(asked: Section, words: str) -> None:
    assert bays_why(asked) == words


def test_metric_firm_reads_stations_in_metres() -> None:
    make_firm(units="metric")
    # 291 in x 0.0254 = 7.391 m.
    with units_of_one_request():
        assert bays_why(section("most_even", GAS)).endswith("the gas mark at 7.391 m")
