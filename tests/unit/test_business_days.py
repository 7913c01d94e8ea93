"""Business days leave out weekends and the federal holidays of 5 U.S.C. 6103."""

import datetime as dt

import pytest

from firm.measure.business_days import add_business_days, holidays_of, is_business_day

DAY = dt.date.fromisoformat


def test_the_federal_holidays_of_2026() -> None:
    # From the calendar of 2026, worked by hand: 1 January is a Thursday, so January's Mondays are
    # 5, 12, 19, 26 (third: 19); February's 2, 9, 16 (third: 16); May's last is 25; 4 July is a
    # Saturday, kept on Friday 3; September's first is 7; October's second 12; November's
    # Thursdays 5, 12, 19, 26 (fourth: 26).
    assert sorted(holidays_of(2026)) == [
        DAY(day)
        for day in (
            "2026-01-01",
            "2026-01-19",
            "2026-02-16",
            "2026-05-25",
            "2026-06-19",
            "2026-07-03",
            "2026-07-04",
            "2026-09-07",
            "2026-10-12",
            "2026-11-11",
            "2026-11-26",
            "2026-12-25",
        )
    ]


def test_new_years_day_on_a_saturday_is_kept_in_the_old_year() -> None:
    # 1 January 2028 is a Saturday: Friday, 31 December 2027 does not count.
    assert not is_business_day(DAY("2027-12-31"))


def test_juneteenth_counts_as_a_holiday_only_since_2021() -> None:
    assert is_business_day(DAY("2020-06-19"))
    assert not is_business_day(DAY("2023-06-19"))


@pytest.mark.parametrize(
    ("start", "count", "end"),
    [
        ("2026-05-04", 3, "2026-05-07"),  # Monday: Tuesday, Wednesday, Thursday
        ("2026-05-07", 3, "2026-05-12"),  # Thursday: Friday, Monday, Tuesday
        ("2026-05-22", 3, "2026-05-28"),  # Friday before Memorial Day: Tue, Wed, Thu
        ("2026-07-01", 3, "2026-07-07"),  # Thu 2; Fri 3 is kept for the 4th; Mon 6; Tue 7
        ("2026-05-09", 1, "2026-05-11"),  # Saturday: Monday
        ("2026-05-04", 0, "2026-05-04"),
    ],
)
def test_the_nth_business_day_after(start: str, count: int, end: str) -> None:
    assert add_business_days(DAY(start), count) == DAY(end)
