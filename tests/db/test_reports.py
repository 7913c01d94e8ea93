"""A day's report: posts and the pour, phases that end with the last post, rock, undoing."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from firm.models import AuditEntry
from scheduling.models import CrewDay, DayReport, PostRecord
from scheduling.selectors.reports import posts_of, posts_view
from scheduling.services.report_entries import (
    DayEntry,
    PhaseTicks,
    PostTicks,
    ReportRefused,
)
from scheduling.services.reports import tick_posts
from tests.report_cast import BAG_PLAN, DAY, EVENING, Day, make_crew, make_day, rock, ticks

pytestmark = pytest.mark.django_db

NEXT_DAY = DAY + dt.timedelta(days=1)


@pytest.fixture
def day() -> Day:
    return make_day()


def finished(day: Day) -> dict[str, dt.date]:
    return {row.kind: row.finished_on for row in day.job.phases.all() if row.finished_on}


def local(moment: dt.datetime | None) -> str:
    return f"{timezone.localtime(moment):%H:%M}" if moment else ""


def at(clock: str) -> dt.datetime:
    """Return that time of the day in New York, four hours behind UTC in May."""
    return dt.datetime.combine(DAY, dt.time.fromisoformat(clock), tzinfo=dt.UTC) + dt.timedelta(
        hours=4
    )


def test_last_post_ends_digging_and_setting_and_starts_the_wait(day: Day) -> None:
    day.hands_in(posts=ticks(*range(1, 9)), now=at("13:10"))
    assert finished(day) == {}
    day.hands_in(posts=ticks(9), now=at("14:40"))
    assert finished(day) == {"dig": DAY, "set": DAY}
    report = day.report()
    assert (local(report.poured_at), report.mix) == ("14:40", "standard")
    first, last = PostRecord.objects.filter(number__in=(1, 9))
    assert (local(first.set_at), local(last.set_at)) == ("13:10", "14:40")


def test_all_posts_at_once_and_undone_by_one(day: Day) -> None:
    day.hands_in(posts=PostTicks(all_set=True), now=at("15:00"))
    assert set(finished(day)) == {"dig", "set"}
    day.hands_in(posts=PostTicks(unset=frozenset({4})), now=at("15:05"))
    assert finished(day) == {}
    row = PostRecord.objects.get(number=4)
    assert row.set_at is None
    entry = AuditEntry.objects.get(action="took a post's tick away")
    assert (entry.target_id, entry.before["set_at"]) == (str(row.pk), "2026-05-04T19:00:00Z")
    # Eight others stand in concrete: the wait runs on.
    assert local(day.report().poured_at) == "15:00"


def test_pour_goes_with_the_last_tick(day: Day) -> None:
    day.hands_in(posts=ticks(1), now=at("13:00"))
    day.hands_in(posts=PostTicks(unset=frozenset({1})), now=at("13:01"))
    assert day.report().poured_at is None


def test_digging_that_ended_before_stays_ended_when_a_post_is_undone(day: Day) -> None:
    dig = day.job.phases.get(kind="dig")
    day.hands_in(phases=PhaseTicks(finished=frozenset({dig.pk})))
    next_day = day.at(NEXT_DAY)
    tomorrow = EVENING + dt.timedelta(days=1)
    next_day.hands_in(posts=PostTicks(all_set=True), now=tomorrow)
    assert finished(day) == {"dig": DAY, "set": NEXT_DAY}
    next_day.hands_in(posts=PostTicks(unset=frozenset({1})), now=tomorrow)
    assert finished(day) == {"dig": DAY}


def test_typed_time_of_the_pour_counts(day: Day) -> None:
    entry = DayEntry(pour_time=dt.time(14, 0), mix="fast", air_f=52.0, bags_used=Decimal("9.5"))
    report = day.hands_in(day=entry, posts=ticks(1, 2))
    assert (local(report.poured_at), report.mix, report.air_f) == ("14:00", "fast", 52.0)
    # Whoever ticks at 17:00 what was poured by 14:00 set it by then.
    assert local(PostRecord.objects.get(number=1).set_at) == "14:00"


def test_time_left_as_it_stood_moves_with_a_later_post(day: Day) -> None:
    day.hands_in(day=DayEntry(pour_time=dt.time(12, 0), mix="standard"), posts=ticks(1))
    same = DayEntry(pour_time=dt.time(12, 0), mix="standard")
    day.hands_in(day=same, posts=ticks(2), now=at("16:30"))
    assert local(day.report().poured_at) == "16:30"
    day.hands_in(day=DayEntry(pour_time=dt.time(15, 45), mix="standard"), now=at("16:40"))
    assert local(day.report().poured_at) == "15:45"


def test_time_taken_out_of_its_field_stays_while_posts_stand_in_concrete(day: Day) -> None:
    day.hands_in(posts=ticks(1), now=at("13:00"))
    day.hands_in(day=DayEntry(mix="standard"))
    assert local(day.report().poured_at) == "13:00"


def test_earlier_day_takes_the_end_of_the_crews_day(day: Day) -> None:
    # 7:00 and 8 h: 15:00, written down the next day.
    day.hands_in(posts=ticks(1), now=EVENING + dt.timedelta(days=1))
    assert local(day.report().poured_at) == "15:00"
    assert timezone.localdate(day.report().poured_at) == DAY


def test_pour_to_come_is_refused_to_the_minute(day: Day) -> None:
    with pytest.raises(ReportRefused, match="It is 17:00 now") as refusal:
        day.hands_in(day=DayEntry(pour_time=dt.time(17, 1), mix="standard"), posts=ticks(1))
    assert refusal.value.field == "pour_time"
    assert not DayReport.objects.exists()
    day.hands_in(day=DayEntry(pour_time=dt.time(17, 0), mix="standard"), posts=ticks(1))
    assert local(day.report().poured_at) == "17:00"


def test_pour_without_posts_asks_and_is_kept_once_confirmed(day: Day) -> None:
    entry = DayEntry(pour_time=dt.time(14, 0), mix="standard")
    with pytest.raises(ReportRefused, match="No post is ticked"):
        day.hands_in(day=entry)
    assert not DayReport.objects.exists()
    sure = DayEntry(pour_time=dt.time(14, 0), mix="standard", without_posts=True)
    assert local(day.hands_in(day=sure).poured_at) == "14:00"
    # Handed in again as it stands, nobody is asked again.
    day.hands_in(day=entry)


def test_same_page_sent_twice_changes_nothing(day: Day) -> None:
    parts: dict[str, Any] = {
        "day": DayEntry(bags_used=Decimal(8), mix="standard", remarks="Muddy"),
        "posts": ticks(1, 2),
        "rock": (rock(3, depth_in=20.0, minutes=40, note="ledge"),),
    }
    day.hands_in(**parts)
    rows = AuditEntry.objects.count()
    day.hands_in(**parts)
    assert AuditEntry.objects.count() == rows
    assert (DayReport.objects.count(), PostRecord.objects.count()) == (1, 3)


def test_what_a_page_left_as_it_stood_does_not_write_over_what_changed_meanwhile(day: Day) -> None:
    day.hands_in(posts=ticks(1), now=at("13:00"))
    changed = DayEntry(bags_used=Decimal(8), pour_time=dt.time(12, 30), mix="fast", remarks="Wet")
    day.hands_in(day=changed)
    # The page was drawn at 13:00: it knows no bags and no words, and another hour of the pour.
    untouched = frozenset({"bags_used", "pour_time", "mix", "remarks"})
    stale = DayEntry(pour_time=dt.time(13), mix="standard", air_f=52.0, untouched=untouched)
    report = day.hands_in(day=stale)
    assert (report.bags_used, local(report.poured_at)) == (Decimal(8), "12:30")
    assert (report.mix, report.remarks, report.air_f) == ("fast", "Wet", 52.0)


def test_ticks_that_belong_nowhere_are_named(day: Day) -> None:
    with pytest.raises(ReportRefused, match="There is no post 99: this job has posts 1 to 9"):
        day.hands_in(posts=ticks(99))
    day.hands_in(posts=ticks(3))
    with pytest.raises(ReportRefused, match="Post 3 was set on May 4: undo it in that day's"):
        day.at(NEXT_DAY).hands_in(
            posts=PostTicks(unset=frozenset({3})), now=EVENING + dt.timedelta(days=1)
        )
    assert PostRecord.objects.get().set_at is not None


def test_post_of_another_day_stays_that_days(day: Day) -> None:
    day.hands_in(posts=ticks(3))
    later = day.at(NEXT_DAY)
    later.hands_in(posts=PostTicks(all_set=True), now=EVENING + dt.timedelta(days=1))
    assert PostRecord.objects.get(number=3).report == day.report()
    view = posts_view(later.job, later.report(), posts_of(later.job))
    third = view.ticks[2]
    assert (third.is_set, third.is_fixed, third.set_on) == (True, True, DAY)
    assert (view.left, len(view.set_here)) == ((), 8)


def test_two_faults_are_named_together_and_nothing_is_written(day: Day) -> None:
    with pytest.raises(ReportRefused) as refusal:
        day.hands_in(
            posts=ticks(99),
            day=DayEntry(pour_time=dt.time(23, 0), mix="standard"),
            rock=(rock(12, row=1),),
        )
    fields = [fault.field for fault in refusal.value.faults]
    assert fields == ["posts", "pour_time", "rock-1-post_number"]
    assert not DayReport.objects.exists()
    assert not AuditEntry.objects.filter(target_type__startswith="scheduling.").exists()


def test_phases_are_finished_and_taken_up_again(day: Day) -> None:
    hang = day.job.phases.get(kind="hang")
    day.hands_in(phases=PhaseTicks(finished=frozenset({hang.pk})))
    assert finished(day) == {"hang": DAY}
    day.hands_in(phases=PhaseTicks(reopened=frozenset({hang.pk})))
    assert finished(day) == {}
    actions = AuditEntry.objects.filter(target_type="scheduling.jobphase").order_by("pk")
    assert [entry.action for entry in actions] == ["finished a phase", "took a phase up again"]


def test_rock_is_kept_changed_and_taken_away_and_its_post_set_on_another_day(day: Day) -> None:
    day.hands_in(rock=(rock(3, depth_in=20.0, minutes=40, note="ledge"),))
    day.hands_in(rock=(rock(3, depth_in=22.0, minutes=55, note="ledge"),))
    row = PostRecord.objects.get()
    assert (row.rock_depth_in, row.rock_min, row.set_at) == (22.0, 55, None)
    later = day.at(NEXT_DAY)
    later.hands_in(posts=ticks(3), now=EVENING + dt.timedelta(days=1))
    row.refresh_from_db()
    assert (row.met_rock, row.report) == (True, later.report())
    later.hands_in(rock_removed=frozenset({3}), now=EVENING + dt.timedelta(days=1))
    row.refresh_from_db()
    assert (row.met_rock, row.rock_min, row.note) == (False, None, "")
    assert row.set_at is not None
    assert AuditEntry.objects.get(action="took rock away").before["rock_min"] == 55


def test_same_post_twice_in_the_rock_list_is_refused(day: Day) -> None:
    with pytest.raises(ReportRefused, match="Post 3 stands in another line") as refusal:
        day.hands_in(rock=(rock(3), rock(3, row=1)))
    assert refusal.value.field == "rock-1-post_number"


@pytest.mark.parametrize(
    # 3 posts at 4 bags: 12 planned; more than 1.25 x 12 = 15 is over.
    ("bags", "is_over"),
    [("15", False), ("15.5", True)],
)
def test_bags_over_a_quarter_more_than_planned_ring_the_office(
    day: Day, bags: str, is_over: bool
) -> None:
    assert {post.bags for post in posts_of(day.job)} == {BAG_PLAN}
    report = day.hands_in(
        posts=ticks(1, 2, 3), day=DayEntry(bags_used=Decimal(bags), mix="standard")
    )
    hints = posts_view(day.job, report, posts_of(day.job)).hints
    expected = ("5.2 bags a post, 4.0 were planned: ring the office before the next holes.",)
    assert hints == (expected if is_over else ())


def test_rock_in_over_three_of_ten_holes_rings_the_office(day: Day) -> None:
    # 0.30 x 9 = 2.7: two are not over it, three are.
    day.hands_in(rock=(rock(1), rock(2, row=1)))
    assert posts_view(day.job, day.report(), posts_of(day.job)).hints == ()
    day.hands_in(rock=(rock(3),))
    (hint,) = posts_view(day.job, day.report(), posts_of(day.job)).hints
    assert hint == "Rock in 3 of 9 holes: ring the office before digging on."


def test_saving_says_when_to_hang(day: Day) -> None:
    CrewDay.objects.update(phase=day.job.phases.get(kind="set"))
    entry = DayEntry(pour_time=dt.time(14, 0), mix="standard", air_f=52.0)
    day.hands_in(day=entry, posts=PostTicks(all_set=True))
    view = posts_view(day.job, day.report(), posts_of(day.job))
    # 52 F: an hour counts as exp(-5000 x (1/284.261 - 1/296.15)) = .4936; 30.476 / .4936 = 61.75 h
    # from Mon May 4 14:00 on: Thu 3:45.
    assert "Panels from Thursday 03:45: 61.75 h at a mean of 52 F" in view.hang_words


def test_second_crew_at_the_job_reports_for_itself(day: Day) -> None:
    day.hands_in(posts=ticks(1))
    other = Day(job=day.job, crew=make_crew("South crew"), members=())
    report = tick_posts(
        job=other.job,
        crew=other.crew,
        date=DAY,
        ticks=ticks(1, 2),
        actor=None,
        now=EVENING,
    )
    assert report != day.report()
    assert PostRecord.objects.get(number=1).report == day.report()
    assert PostRecord.objects.get(number=2).report == report
