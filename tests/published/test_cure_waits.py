"""The waiting table, one of three rules, against the trade's customs: common practice, no source.

How-to pages for homeowners say 24 to 48 h for standard mix, about 4 h for fast mix, longer in
the cold; all of them defer to the bag's label. Cold-weather concreting begins at a daily mean
under 40 F (ACI 306R as its topic page sums it up). 3 March 2026 is a Tuesday.
"""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from scheduling.engine.air import Air
from scheduling.engine.cure import Work
from scheduling.engine.hanging import Pour, hang_not_before
from scheduling.starter import load_cure_table

CHICAGO = ZoneInfo("America/Chicago")
TUESDAY_14 = dt.datetime(2026, 3, 3, 14, 0, tzinfo=CHICAGO)

# Common practice, no source: rows as the trade's table lists them; 7 days are 168 h. Stretched
# fabric stands beside gates for standard mix; for fast mix it is ours to wait as long as a gate.
TABLE = {
    ("standard", Work.PANELS): (24, 48, 72),
    ("standard", Work.GATES): (72, 96, 168),
    ("standard", Work.FABRIC): (72, 96, 168),
    ("fast", Work.PANELS): (4, 12, 24),
    ("fast", Work.GATES): (24, 48, 72),
    ("fast", Work.FABRIC): (24, 48, 72),
}
# The air at both ends of each band: 70 F and above, 50 to under 70, 40 to under 50.
BANDS = ((70.0, 110.0), (50.0, 69.9), (40.0, 49.9))
CELLS = [
    (mix, work, air_f, hours)
    for (mix, work), row in TABLE.items()
    for band, hours in zip(BANDS, row, strict=True)
    for air_f in band
]


def pour(mix: str, air_f: float) -> Pour:
    return Pour(poured_at=TUESDAY_14, mix=mix, air=Air(said_f=air_f))


@pytest.mark.source("N", "common practice, no source")
@pytest.mark.parametrize(("mix", "work", "air_f", "hours"), CELLS)
def test_every_cell_of_the_table_is_the_trades(
    mix: str, work: Work, air_f: float, hours: float
) -> None:
    band = load_cure_table().mix(mix).wait_for(work, air_f)
    assert band is not None
    assert band.hours == hours


@pytest.mark.source("N", "common practice, no source")
def test_gates_on_fast_mix_set_on_tuesday_at_14_in_52_f_wait_until_thursday_at_14() -> None:
    # Common practice, no source. 52 F lies in 50 to 70: 48 h are 2 days. Tue 3 to Thu 5 March.
    wait = hang_not_before(pour("fast", 52), Work.GATES, load_cure_table())
    assert wait.hours == 48
    assert wait.ready_at == dt.datetime(2026, 3, 5, 14, 0, tzinfo=CHICAGO)
    assert wait.sentence == (
        "Posts set Tue 14:00, fast mix. Gates from Thursday 14:00: the firm's table says 48 h at "
        "52 F (the label 4 h)."
    )


@pytest.mark.source("S", "ACI 306R as its topic page sums it up: cold weather begins at 40 F")
@pytest.mark.parametrize("work", list(Work))
@pytest.mark.parametrize(
    ("mix", "words"), [("standard", "protect it or do not pour"), ("fast", "the maker's sheet")]
)
def test_under_40_f_there_is_no_wait_but_words(mix: str, words: str, work: Work) -> None:
    # Common practice, no source, for the words; 40 F is where cold weather begins (ACI 306R).
    wait = hang_not_before(pour(mix, 39.9), work, load_cure_table())
    assert (wait.hours, wait.ready_at) == (None, None)
    assert words in wait.sentence
