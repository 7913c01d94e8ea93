"""Public holidays against the law that sets them and against what governments published.

The dates are the published ones as remembered, or reckoned from the law's words; none was taken
from the library that is asked.
"""

import datetime as dt

import pytest

from firm.measure.business_days import holidays_of
from firm.public_holidays import holidays_of_year, state_code


def days(text: str, year: int) -> set[dt.date]:
    return {dt.date(year, *map(int, one.split("-"))) for one in text.split()}


# U.S. Office of Personnel Management, "Federal Holidays", the days on which offices are closed.
# That of 2023 was read where others quote it: New Year's Day on Monday, Veterans Day on Friday.
OPM = {
    2023: "1-2 1-16 2-20 5-29 6-19 7-4 9-4 10-9 11-10 11-23 12-25",
    2024: "1-1 1-15 2-19 5-27 6-19 7-4 9-2 10-14 11-11 11-28 12-25",
    2025: "1-1 1-20 2-17 5-26 6-19 7-4 9-1 10-13 11-11 11-27 12-25",
    2026: "1-1 1-19 2-16 5-25 6-19 7-3 9-7 10-12 11-11 11-26 12-25",
    2027: "1-1 1-18 2-15 5-31 6-18 7-5 9-6 10-11 11-11 11-25 12-24",
}


@pytest.mark.source("M", "OPM, Federal Holidays, 2024 to 2027 (5 U.S.C. 6103), from memory")
@pytest.mark.parametrize(
    "year",
    [
        pytest.param(2023, marks=pytest.mark.source("T", "OPM, Federal Holidays 2023, as quoted")),
        *(year for year in OPM if year > 2023),
    ],
)
def test_federal_holidays_are_kept_on_the_days_the_government_closes(year: int) -> None:
    kept = {day for day in holidays_of_year("US", "", year) if day.weekday() < 5}
    # New Year's Day of 2028 is a Saturday, kept on Friday, December 31, 2027.
    new_year = {dt.date(2027, 12, 31)} if year == 2027 else set()
    assert kept == days(OPM[year], year) | new_year


@pytest.mark.source("C", "5 U.S.C. 6103(a) and (b), as reckoned by firm/measure/business_days.py")
@pytest.mark.parametrize("year", range(2021, 2036))
def test_holidays_of_the_law_s_own_words_are_the_same(year: int) -> None:
    closed = {day for day in holidays_of(year) if day.weekday() < 5 and day.year == year}
    kept = {day for day in holidays_of_year("US", "", year) if day.weekday() < 5}
    assert kept == closed


# Ontario, Employment Standards Act, 2000, s. 1 (1) "public holiday": New Year's Day, Family Day
# (third Monday of February), Good Friday, Victoria Day (Monday before May 25), Canada Day, Labour
# Day, Thanksgiving (second Monday of October), Christmas Day and December 26. Easter Sunday of
# 2026 is April 5, so Good Friday April 3. December 26, 2026 is a Saturday.
@pytest.mark.source("M", "Ontario, Employment Standards Act, 2000, s. 1 (1), from memory")
def test_ontario_s_holidays_are_those_of_its_act() -> None:
    found = holidays_of_year("CA", "ON", 2026)
    assert days("1-1 2-16 4-3 5-18 7-1 9-7 10-12 12-25 12-26", 2026) <= found.keys()
    assert found[dt.date(2026, 9, 7)] == "Labour Day"
    # Quebec's national holiday is not Ontario's (National Holiday Act, CQLR c. F-1.1: June 24).
    assert dt.date(2026, 6, 24) not in found
    assert dt.date(2026, 6, 24) in holidays_of_year("CA", "QC", 2026)


@pytest.mark.source("M", "Massachusetts G.L. c. 4, s. 7 (18): April's third Monday, from memory")
def test_state_adds_its_own_day() -> None:
    assert dt.date(2026, 4, 20) in holidays_of_year("US", "MA", 2026)
    assert dt.date(2026, 4, 20) not in holidays_of_year("US", "", 2026)


@pytest.mark.source("M", "USPS Publication 28, appendix B; Canada Post's codes, from memory")
@pytest.mark.parametrize(
    ("country", "said", "code"),
    [("US", "oh", "OH"), ("US", " Ohio ", "OH"), ("CA", "Ontario", "ON"), ("US", "Ontario", None)],
)
def test_states_are_known_by_code_and_by_name(country: str, said: str, code: str | None) -> None:
    assert state_code(country, said) == code
