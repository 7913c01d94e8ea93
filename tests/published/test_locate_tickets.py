"""Locate tickets against what one-call centres and state laws publish.

Each case names its place and where the rule comes from; the dates are counted by hand beside it.
2 March 2026 is a Monday. Between 1 March and 30 April 2026 no federal holiday falls.
"""

import datetime as dt

import pytest

from firm.measure.business_days import Holiday
from firm.measure.locate import LocateRule, call_window, clear_at, ticket_dates

# Alabama 811: notice of 2 to 10 working days, the day of the call excluded; the ticket lives 20
# working days from the stated start and is renewed at least 2 working days before its end.
ALABAMA = LocateRule(
    notice=2,
    notice_kind="working",
    earliest_call_days=10,
    life_days=20,
    life_kind="working",
    life_from="start",
    renew_days_before=2,
)
# JULIE, Illinois: 28 calendar days with the day of the call; extended on days 20 to 28, 2 working
# days' notice.
ILLINOIS = LocateRule(
    notice=2,
    notice_kind="working",
    earliest_call_days=14,
    life_days=28,
    life_kind="calendar",
    life_from="call",
    renew_days_before=0,
)
# Iowa Code 480.4: 48 hours; 25 calendar days from the end of the 48 hours.
IOWA = LocateRule(
    notice=48,
    notice_kind="hours",
    earliest_call_days=10,
    life_days=25,
    life_kind="calendar",
    life_from="start",
    renew_days_before=0,
)
# Nebraska: 17 calendar days from the start, refreshed by day 14. Its notice was not published
# with the rule; 2 working days are taken here and not checked.
NEBRASKA = LocateRule(
    notice=2,
    notice_kind="working",
    earliest_call_days=10,
    life_days=17,
    life_kind="calendar",
    life_from="start",
    renew_days_before=3,
)
# California Government Code 4216.2: 2 working days, the day of the call excluded; 28 days.
CALIFORNIA = LocateRule(
    notice=2,
    notice_kind="working",
    earliest_call_days=14,
    life_days=28,
    life_kind="calendar",
    life_from="call",
    renew_days_before=0,
)
# Texas: a call counts from the 14th day before the work on. Notice: see NEBRASKA.
TEXAS = LocateRule(
    notice=2,
    notice_kind="calendar",
    earliest_call_days=14,
    life_days=14,
    life_kind="calendar",
    life_from="start",
    renew_days_before=0,
)


@pytest.mark.source("S", "Alabama 811 centre")
def test_alabama_call_on_monday_lets_the_crew_dig_on_thursday() -> None:
    # Day 1 is Tuesday 3, day 2 is Wednesday 4; the first day after the notice is Thursday 5.
    dates = ticket_dates(ALABAMA, called_on=dt.date(2026, 3, 2))
    assert dates.clear_on == dt.date(2026, 3, 5)


@pytest.mark.source("S", "Alabama 811 centre")
def test_alabama_ticket_lives_twenty_working_days_from_its_start() -> None:
    # Thu 5 Mar is day 1; 5-6 Mar 2 days, 9-13 7, 16-20 12, 23-27 17, Mon 30 18, Tue 31 19,
    # Wed 1 Apr 20. Two working days before: Tue 31, Mon 30.
    dates = ticket_dates(
        ALABAMA, called_on=dt.date(2026, 3, 2), stated_start_on=dt.date(2026, 3, 5)
    )
    assert dates.expires_on == dt.date(2026, 4, 1)
    assert dates.renew_by == dt.date(2026, 3, 30)


@pytest.mark.source("S", "Alabama 811 centre")
def test_alabama_call_counts_from_ten_to_two_working_days_ahead() -> None:
    # For a start on Thu 19 Mar: back 1 Wed 18, 3 Mon 16, 4 Fri 13, 8 Mon 9, 9 Fri 6, 10 Thu 5.
    # Two whole working days between call and start: 18 and 17, so the last call is Mon 16.
    window = call_window(ALABAMA, start_on=dt.date(2026, 3, 19))
    assert (window.first_on, window.last_on) == (dt.date(2026, 3, 5), dt.date(2026, 3, 16))


@pytest.mark.source("S", "Illinois one-call centre")
def test_illinois_ticket_of_the_first_of_march_ends_on_the_twenty_eighth() -> None:
    # 28 days with 1 March as day 1.
    assert ticket_dates(ILLINOIS, called_on=dt.date(2026, 3, 1)).expires_on == dt.date(2026, 3, 28)


@pytest.mark.source("S", "Iowa Code 480.4")
def test_iowa_forty_eight_hours_from_monday_at_eight_end_on_wednesday_at_eight() -> None:
    monday = dt.datetime(2026, 3, 2, 8, 0, tzinfo=dt.UTC)
    assert clear_at(IOWA, called_at=monday) == dt.datetime(2026, 3, 4, 8, 0, tzinfo=dt.UTC)


@pytest.mark.source("S", "Iowa Code 480.4")
def test_iowa_ticket_without_its_hour_waits_for_the_whole_of_two_days() -> None:
    # The call may have come late on Monday: 48 hours end late on Wednesday, dig on Thursday 5.
    # Day 1 is the 5th, day 25 the 29th.
    dates = ticket_dates(IOWA, called_on=dt.date(2026, 3, 2))
    assert (dates.clear_on, dates.expires_on) == (dt.date(2026, 3, 5), dt.date(2026, 3, 29))


@pytest.mark.source("S", "Nebraska one-call centre")
def test_nebraska_ticket_is_refreshed_by_day_fourteen_of_seventeen() -> None:
    # Start Mon 9 Mar is day 1; day 14 is the 22nd, day 17 the 25th.
    dates = ticket_dates(
        NEBRASKA, called_on=dt.date(2026, 3, 2), stated_start_on=dt.date(2026, 3, 9)
    )
    assert (dates.renew_by, dates.expires_on) == (dt.date(2026, 3, 22), dt.date(2026, 3, 25))


@pytest.mark.source("S", "California Government Code 4216.2")
def test_california_call_on_thursday_counts_friday_and_monday() -> None:
    # The law's two working days are Fri 6 and Mon 9; the crew digs on Tue 10.
    assert ticket_dates(CALIFORNIA, called_on=dt.date(2026, 3, 5)).clear_on == dt.date(2026, 3, 10)


@pytest.mark.source("S", "Texas one-call rules")
def test_texas_call_counts_from_the_fourteenth_day_before() -> None:
    # 14 days before 20 March.
    assert call_window(TEXAS, start_on=dt.date(2026, 3, 20)).first_on == dt.date(2026, 3, 6)


# --- What follows is common practice: no source counts these days for us -------------------------


@pytest.mark.source("N", "common practice, no source")
def test_holiday_lengthens_the_notice_but_not_the_life() -> None:
    # Call Thu 2 July 2026. Independence Day falls on a Saturday and is kept on Fri 3 July
    # (5 U.S.C. 6103): the notice is Mon 6 and Tue 7, digging from Wed 8.
    dates = ticket_dates(ALABAMA, called_on=dt.date(2026, 7, 2))
    assert dates.clear_on == dt.date(2026, 7, 8)
    # Labor Day, Mon 7 Sep, would make a ticket of 20 days from Tue 25 Aug end a day later:
    # 25-28 Aug 4 days, 31-4 Sep 9, 7-11 14, 14-18 19, Mon 21 20.
    dates = ticket_dates(
        ALABAMA, called_on=dt.date(2026, 8, 20), stated_start_on=dt.date(2026, 8, 25)
    )
    assert dates.expires_on == dt.date(2026, 9, 21)


@pytest.mark.source("N", "common practice, no source")
def test_firm_may_name_its_own_holidays() -> None:
    # A state holiday on Tue 3 March moves the notice of a Monday call to Wed 4 and Thu 5.
    own = (Holiday(name="State day", month=3, day=3),)
    dates = ticket_dates(ALABAMA, called_on=dt.date(2026, 3, 2), holidays=own)
    assert dates.clear_on == dt.date(2026, 3, 6)


@pytest.mark.source("N", "common practice, no source")
def test_stated_start_before_the_notice_is_over_lets_nobody_dig_earlier() -> None:
    dates = ticket_dates(
        ALABAMA, called_on=dt.date(2026, 3, 2), stated_start_on=dt.date(2026, 3, 3)
    )
    assert dates.clear_on == dt.date(2026, 3, 5)


@pytest.mark.source("N", "common practice, no source")
def test_hours_stand_still_over_a_weekend() -> None:
    # 16 hours of Friday, none of Saturday and Sunday, 24 of Monday, 8 of Tuesday.
    friday = dt.datetime(2026, 3, 6, 8, 0, tzinfo=dt.UTC)
    assert clear_at(IOWA, called_at=friday) == dt.datetime(2026, 3, 10, 8, 0, tzinfo=dt.UTC)


@pytest.mark.source("N", "common practice, no source")
def test_days_of_notice_end_at_midnight() -> None:
    called = dt.datetime(2026, 3, 2, 16, 30, tzinfo=dt.UTC)
    assert clear_at(ALABAMA, called_at=called) == dt.datetime(2026, 3, 5, tzinfo=dt.UTC)
