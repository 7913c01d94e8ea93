"""The week: hours planned of hours there, days off, waits as they lie in it, what has no day."""

import datetime as dt
from decimal import Decimal

import pytest
from django.utils import timezone

from scheduling.models import Crew, CrewDaysOff
from scheduling.selectors.calendar import CrewCell, SpanView, WeekView, span_view, week_view
from scheduling.selectors.cure_spans import SpanWords
from scheduling.selectors.unplaced import unplaced_jobs
from tests.crew_cast import make_full_job, put_on
from tests.factories import NOW, TODAY, make_firm
from tests.job_cast import make_fence_job

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
# TODAY is Monday, May 4, 2026.
MONDAY = TODAY


def the_week(monday: dt.date = MONDAY) -> WeekView:
    return week_view(monday=monday, now=NOW)


def cell_of(view: WeekView, crew: Crew, day: int) -> CrewCell:
    """Return a crew's cell, 0 for Monday."""
    return next(line for line in view.crews if line.crew == crew).cells[day]


def test_hours_of_a_day_are_added_up_beside_the_hours_there() -> None:
    crew = Crew.objects.create(name="North")
    job = make_full_job(1, on=MONDAY)
    put_on(job, "layout", crew, MONDAY, hours="1.5")
    put_on(job, "dig", crew, MONDAY, hours="6.75")
    cell = cell_of(the_week(), crew, 0)
    # 1.5 + 6.75 = 8.25 of 8.
    assert (cell.hours_planned, cell.hours_there) == (Decimal("8.25"), Decimal(8))
    assert cell.is_over
    assert [block.row.phase.kind for block in cell.blocks] == ["layout", "dig"]
    assert not cell_of(the_week(), crew, 1).blocks


def test_days_off_and_free_weekdays_have_no_hours() -> None:
    crew = Crew.objects.create(name="North", weekdays="0123")
    CrewDaysOff.objects.create(
        crew=crew, first_day=MONDAY + DAY, last_day=MONDAY + DAY, reason="Training"
    )
    view = the_week()
    words = [cell_of(view, crew, day).off_words for day in range(7)]
    assert words == ["", "Off: Training", "", "", *["No working day"] * 3]
    there = [cell_of(view, crew, day).hours_there for day in range(7)]
    assert there == [8, 0, 8, 8, 0, 0, 0]


def test_buttons_lead_to_the_crews_next_working_days() -> None:
    crew = Crew.objects.create(name="North")
    CrewDaysOff.objects.create(crew=crew, first_day=MONDAY + DAY, last_day=MONDAY + 2 * DAY)
    job = make_full_job(1, on=MONDAY)
    for kind, day in (("dig", 0), ("set", 3), ("hang", 4)):
        put_on(job, kind, crew, MONDAY + day * DAY)
    view = the_week()
    blocks = {day: cell_of(view, crew, day).blocks[0] for day in (0, 3, 4)}
    # Today's work goes no earlier; over the days off; over the weekend.
    assert (blocks[0].earlier, blocks[0].later) == (None, MONDAY + 3 * DAY)
    assert (blocks[3].earlier, blocks[3].later) == (MONDAY, MONDAY + 4 * DAY)
    assert (blocks[4].earlier, blocks[4].later) == (MONDAY + 3 * DAY, MONDAY + 7 * DAY)


def test_what_lies_behind_offers_no_move() -> None:
    crew = Crew.objects.create(name="North")
    job = make_full_job(1, on=MONDAY)
    put_on(job, "dig", crew, MONDAY - 3 * DAY)
    block = cell_of(the_week(MONDAY - 7 * DAY), crew, 4).blocks[0]
    assert (block.earlier, block.later) == (None, None)


def test_crew_out_of_use_shows_only_where_it_has_work() -> None:
    idle = Crew.objects.create(name="Idle", is_active=False)
    busy = Crew.objects.create(name="Busy", is_active=False)
    put_on(make_full_job(1, on=MONDAY), "dig", busy, MONDAY)
    shown = [line.crew for line in the_week().crews]
    assert shown == [busy]
    assert idle not in shown


class TestWaits:
    """Set on Tuesday from 07:00 for 4 h: set at 11:00, no air entered, so 40 F counts.

    Standard mix there (worked out in test_placing): panels after 94.25 h, Saturday 9:15; gates
    after 216.50 h, the Thursday after at 11:30.
    """

    @pytest.fixture
    def crew(self) -> Crew:
        make_firm()
        crew = Crew.objects.create(name="North")
        job = make_full_job(1, on=MONDAY)
        put_on(job, "dig", crew, MONDAY)
        put_on(job, "set", crew, MONDAY + DAY)
        return crew

    def test_lie_in_the_week_of_the_pour(self, crew: Crew) -> None:
        [line] = the_week().jobs
        assert [span.words for span in line.views] == [
            "panels from Sat 09:15",
            "gates from Thu May 14 11:30",
        ]
        panels, gates = line.views
        assert (panels.days_before, panels.days, panels.days_after) == (1, 5, 1)
        # Of the five days 120 h: 11 h before it, 94.25 h of it.
        assert (panels.left_pct, panels.width_pct) == ("9.17%", "78.54%")
        assert (gates.days_before, gates.days, gates.days_after) == (1, 6, 0)

    def test_reach_into_the_next_week_without_a_block_there(self, crew: Crew) -> None:
        [line] = the_week(MONDAY + 7 * DAY).jobs
        [gates] = line.views
        assert (gates.days_before, gates.days) == (0, 4)
        # Three days and 11.5 h of Thursday are 83.5 of 96 h.
        assert (gates.left_pct, gates.width_pct) == ("0.00%", "86.98%")

    def test_are_gone_when_they_are_over(self, crew: Crew) -> None:
        assert the_week(MONDAY + 14 * DAY).jobs == []

    def test_stand_in_the_list_of_each_of_their_days(self, crew: Crew) -> None:
        counts = [len(day.waits) for day in the_week().by_day]
        assert counts == [0, 2, 2, 2, 2, 2, 1]


def test_wait_that_ends_at_midnight_takes_no_part_of_the_next_day() -> None:
    span = _view("2026-05-05T12:00", "2026-05-07T00:00")
    assert (span.days_before, span.days, span.days_after) == (1, 2, 4)
    assert (span.left_pct, span.width_pct) == ("25.00%", "75.00%")


def test_wait_without_an_end_lasts_to_the_end_of_the_week() -> None:
    span = _view("2026-05-09T00:00", "")
    assert (span.days_before, span.days, span.days_after) == (5, 2, 0)
    assert (span.left_pct, span.width_pct) == ("0.00%", "100.00%")


def test_plan_that_no_longer_fits_is_said_in_the_week_it_stands_in() -> None:
    make_firm()
    crew = Crew.objects.create(name="North")
    job = make_full_job(1, on=MONDAY)
    put_on(job, "dig", crew, MONDAY + 2 * DAY)
    assert the_week().misfits != []
    assert the_week(MONDAY + 7 * DAY).misfits == []
    # Layout comes before the dig and is on no day.
    assert "layout is not on the calendar" in the_week().misfits[0]


def test_jobs_without_days_say_what_they_wait_for() -> None:
    crew = Crew.objects.create(name="North")
    whole = make_full_job(1, on=MONDAY)
    for kind in ("layout", "dig", "set", "hang", "gates", "clean_up"):
        put_on(whole, kind, crew, MONDAY)
    part = make_full_job(2, on=MONDAY)
    put_on(part, "layout", crew, MONDAY)
    part.phases.filter(kind="dig").update(finished_on=MONDAY)
    waiting = make_fence_job(number=3)
    make_full_job(4, on=MONDAY, state="finished", finished_at=NOW)

    found = unplaced_jobs(now=NOW)

    assert [one.job for one in found] == [part, waiting]
    assert [phase.kind for phase in found[0].phases] == ["set", "hang", "gates", "clean_up"]
    assert (found[0].has_days, found[0].block) == (True, None)
    assert found[1].block is not None
    assert found[1].block.words == "Deposit: not asked for yet."


def _view(from_at: str, ready_at: str) -> SpanView:
    """Return how a wait between two times of the firm's clock lies in the week."""
    span = SpanWords(
        from_at=timezone.make_aware(dt.datetime.fromisoformat(from_at)),
        ready_at=timezone.make_aware(dt.datetime.fromisoformat(ready_at)) if ready_at else None,
        words="panels",
        sentence="",
    )
    found = span_view(span, MONDAY)
    assert found is not None
    return found
