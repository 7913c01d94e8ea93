"""What a pour, the air, a rain-out or a plan moves is written down, with why, until it is seen.

NOW is Monday, 4 May 2026. Waits by standards.md section 5: panels want 30.5 h at 73 F; that is
32 h at a steady 72 F and 94.25 h at 40 F (datum 23 F: 30.5 x 50 / 17 = 89.7 h would be ASTM C1074's
plain temperature-time; the table's own figure is checked in tests/published).
"""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from firm.errors import Refusal
from firm.models import Role, User
from scheduling.models import Crew, CrewDay, FenceJob, MemberTimeOff, PlanChange
from scheduling.selectors.plan_changes import changes_view, unseen_changes
from scheduling.services.first_days import move_to_first_day
from scheduling.services.job_details import Preparation, prepare_job
from scheduling.services.plan_changes import tick_seen
from scheduling.services.rain_outs import RainOutAsked, carry_out_rain_out, look_at_rain_out
from scheduling.services.report_entries import DayEntry, HoursEntry, PhaseTicks, ReportEntry
from scheduling.services.reports import save_report
from scheduling.services.weather import write_down_months, write_down_weather
from tests.cast import make_person
from tests.crew_cast import make_full_job, make_red_crew, may, put_on
from tests.factories import NOW, make_firm

pytestmark = pytest.mark.django_db
MONDAY = may(4)
TUESDAY_EVENING = dt.datetime(2026, 5, 5, 22, tzinfo=dt.UTC)  # 18:00 in New York


@pytest.fixture
def crew(db: None) -> Crew:
    make_firm(crew_rate=Decimal("62.00"))
    return make_red_crew()


@pytest.fixture
def office(db: None) -> User:
    return make_person(Role.OFFICE)


@pytest.fixture
def job(crew: Crew) -> FenceJob:
    """Return a job dug; set on Tuesday from 7:00 to 11:00 at 72 F, hung on Thursday from 7:00."""
    job = make_full_job(1, on=MONDAY)
    job.phases.filter(kind__in=["layout", "dig", "gates", "clean_up"]).update(
        finished_on=dt.date(2026, 5, 1)
    )
    put_on(job, "set", crew, may(5), air_f=72.0)
    put_on(job, "hang", crew, may(7))
    return job


def pours(job: FenceJob, crew: Crew, hour: str, **changes: Any) -> None:
    day = DayEntry(pour_time=dt.time.fromisoformat(hour), without_posts=True, air_f=72.0)
    values: dict[str, Any] = {"day": day} | changes
    save_report(
        job=job,
        crew=crew,
        date=may(5),
        entry=ReportEntry(**values),
        actor=None,
        now=TUESDAY_EVENING,
    )


def told(now: dt.datetime = TUESDAY_EVENING) -> list[str]:
    return [sentence for row in unseen_changes(now=now) for sentence in row.sentences]


def test_later_pour_is_told_with_both_hours(job: FenceJob, crew: Crew) -> None:
    pours(job, crew, "13:00")
    # 32 h from 11:00 are Wednesday 19:00, from 13:00 Wednesday 21:00.
    assert told() == [
        "Panels of Job 1 may hang Wed May 6 21:00 instead of 19:00: "
        "the pour was Tue 13:00, not Tue 11:00."
    ]
    (row,) = unseen_changes(now=TUESDAY_EVENING)
    assert (row.since, row.change.cause) == ("today 18:00", "pour")
    assert unseen_changes(now=TUESDAY_EVENING + dt.timedelta(days=1))[0].since == "yesterday 18:00"


def test_pour_at_the_hour_planned_tells_nothing(job: FenceJob, crew: Crew) -> None:
    pours(job, crew, "11:00")
    assert told() == []


def test_pours_that_follow_one_another_are_one_change_until_it_is_seen(
    job: FenceJob, crew: Crew, office: User
) -> None:
    for hour in ("13:00", "14:30"):
        pours(job, crew, hour)
    (sentence,) = told()
    assert "Wed May 6 22:30 instead of 19:00: the pour was Tue 14:30, not Tue 11:00." in sentence
    pours(job, crew, "11:00")
    assert told() == []
    assert not PlanChange.objects.exists()
    pours(job, crew, "13:00")
    tick_seen(as_of=TUESDAY_EVENING, actor=office, now=TUESDAY_EVENING)
    assert told() == []
    pours(job, crew, "14:30")
    (sentence,) = told()
    assert "Wed May 6 22:30 instead of 21:00: the pour was Tue 14:30, not Tue 13:00." in sentence
    assert PlanChange.objects.count() == 2


def test_finished_phase_alone_tells_of_the_report(job: FenceJob, crew: Crew) -> None:
    pours(job, crew, "09:00")
    # Earlier than planned, but not all posts are set: the planned end still rules.
    assert told() == []
    setting = job.phases.get(kind="set").pk
    ticks = PhaseTicks(finished=frozenset({setting}))
    pours(job, crew, "09:00", day=None, phases=ticks)
    # 32 h from 9:00: Wednesday 17:00.
    (sentence,) = told()
    assert sentence.startswith("Panels of Job 1 may hang Wed May 6 17:00 instead of 19:00: ")
    assert PlanChange.objects.get().cause == "report"


def test_hours_and_words_tell_nothing(job: FenceJob, crew: Crew) -> None:
    member = crew.members.all()[0].pk
    row = HoursEntry(row=0, member=member, started=dt.time(7), ended=dt.time(11))
    pours(job, crew, "13:00", day=None, hours=(row,))
    assert told() == []


def test_air_written_down_tells_whose_concrete_waits_otherwise(job: FenceJob, office: User) -> None:
    CrewDay.objects.filter(phase__kind="set").update(air_f=None)
    days = {may(day): (72.0, 72.0) for day in range(4, 12)}
    write_down_weather(pairs=days, rain={}, actor=office, now=NOW)
    (sentence,) = told(NOW)
    assert sentence.startswith(
        "Panels of Job 1 may hang Wed May 6 19:00 instead of Sat May 9 09:15: "
        "the air was written down anew."
    )
    write_down_months(pairs={1: (20.0, 30.0)}, actor=office, now=NOW)
    assert told(NOW) == [sentence]
    (row,) = unseen_changes(now=NOW)
    assert row.briefs[0].endswith(": the air was written down anew.")
    assert sentence.startswith(row.briefs[0])


def test_rain_out_tells_which_days_moved(job: FenceJob, office: User) -> None:
    values: dict[str, Any] = {"crew": None, "work": "all", "others": "stay", "rain_in": None}
    asked = RainOutAsked(date=may(5), with_fixed=False, **values)
    mark = look_at_rain_out(asked=asked, now=NOW).mark
    carry_out_rain_out(asked=asked, mark=mark, actor=office, now=NOW)
    # Set on Wednesday; 32 h later it is Thursday evening, so it hangs on Friday.
    assert told(NOW) == [
        "Hanging of Job 1 is on Fri May 8 instead of Thu May 7: rain on Tue May 5, 2026.",
        "Setting posts, concrete of Job 1 is on Wed May 6 instead of Tue May 5: "
        "rain on Tue May 5, 2026.",
    ]


def test_rain_out_onto_a_warmer_day_tells_the_shorter_wait(job: FenceJob, office: User) -> None:
    CrewDay.objects.filter(phase__kind="set").update(air_f=45.0)
    write_down_months(pairs={5: (72.0, 72.0)}, actor=office, now=NOW)
    values: dict[str, Any] = {"crew": None, "work": "all", "others": "stay", "rain_in": None}
    asked = RainOutAsked(date=may(5), with_fixed=False, **values)
    mark = look_at_rain_out(asked=asked, now=NOW).mark
    carry_out_rain_out(asked=asked, mark=mark, actor=office, now=NOW)
    assert CrewDay.objects.get(phase__kind="set").air_f is None
    # Tuesday's 45 F counts no more on Wednesday: 32 h at the usual 72 F after 9:30, for it
    # is set from 7:00 on in the 4.54 hours sold: 2.27 of two people, up to the quarter.
    (sentence,) = [one for one in told(NOW) if "may hang" in one]
    assert "Panels of Job 1 may hang Thu May 7 17:30 instead of " in sentence
    assert "its new day has air of its own" in sentence


def test_what_moved_again_after_the_page_was_drawn_stays_unseen(
    job: FenceJob, crew: Crew, office: User
) -> None:
    pours(job, crew, "13:00")
    drawn = TUESDAY_EVENING - dt.timedelta(minutes=1)
    assert tick_seen(as_of=drawn, actor=office, now=TUESDAY_EVENING) == 0
    row = PlanChange.objects.get()
    assert tick_seen(changes=[row.pk], as_of=TUESDAY_EVENING, actor=office, now=NOW) == 1
    row.refresh_from_db()
    assert (row.seen_by, row.seen_at) == (office, NOW)


def prepare(job: FenceJob, office: User, **changes: Any) -> None:
    """Save the page of preparation with nothing on it changed but this."""
    days = ("promised_on", "wanted_by", "not_before", "after_job")
    dates: dict[str, Any] = dict.fromkeys(days) | {"closed_days": []}
    inspection = {"is_needed": False, "booked_on": None, "passed_on": None}
    preparation = Preparation(
        materials=changes.get("materials", {}),
        inspection=inspection | changes.get("inspection", {}),
        dates=dates | changes.get("dates", {}),
        crew_words={"mix": job.mix} | changes.get("crew_words", {}),
    )
    prepare_job(job=job, preparation=preparation, actor=office, now=NOW)


@pytest.fixture
def other(crew: Crew) -> FenceJob:
    """Return a second job that has only its holes to dig, on Wednesday."""
    job = make_full_job(2, on=MONDAY)
    job.phases.exclude(kind="dig").update(finished_on=dt.date(2026, 5, 1))
    put_on(job, "dig", crew, may(6))
    return job


class TestPreparing:
    def test_job_that_is_to_wait_for_another_is_told_with_that_job(
        self, job: FenceJob, other: FenceJob, office: User
    ) -> None:
        prepare(other, office)
        assert told(NOW) == []
        # Job 1 hangs on Thursday from 7:00 to 11:00.
        prepare(other, office, dates={"after_job": job})
        assert told(NOW) == [
            "Stands no longer: Job 2: digging on Wed May 6 07:00 comes too early: "
            "Job 1 comes first and is over on Thu May 7 11:00."
        ]
        row = PlanChange.objects.get()
        assert (row.cause, row.job, row.made_by) == ("prepare", other, office)
        # Taken back before anybody saw it, it is none.
        prepare(other, office)
        assert not PlanChange.objects.exists()

    def test_wait_taken_back_after_it_was_seen_is_told(
        self, job: FenceJob, other: FenceJob, office: User
    ) -> None:
        prepare(other, office, dates={"after_job": job})
        tick_seen(as_of=NOW, actor=office, now=NOW)
        prepare(other, office)
        assert told(NOW) == [
            "Digging of Job 2 on Wed May 6 stands again, as far as this barred it."
        ]

    def test_another_mix_tells_the_other_wait_and_what_hangs_too_early_by_it(
        self, job: FenceJob, office: User
    ) -> None:
        CrewDay.objects.filter(phase__kind="hang").update(date=may(5), start=dt.time(15))
        FenceJob.objects.update(mix="fast")
        job.refresh_from_db()
        prepare(job, office, crew_words={"mix": "standard"})
        # The table's 4 h for the fast mix at 72 F, so from 15:00; 32 h for the standard one.
        wait, stands = told(NOW)
        assert wait.startswith(
            "Panels of Job 1 may hang Wed May 6 19:00 instead of Tue May 5 15:00: "
            "the mix or the cover against frost was changed. "
        )
        assert stands.startswith("Stands no longer: Job 1: hanging on Tue May 5 15:00 comes too")

    @pytest.mark.parametrize(
        ("what", "words"),
        [
            ({"dates": {"not_before": dt.date(2026, 5, 6)}}, "wants nobody there before Wed May 6"),
            ({"inspection": {"is_needed": True}}, "Footing inspection still open"),
        ],
    )
    def test_customer_s_days_and_the_inspection_tell_what_they_bar(
        self, job: FenceJob, office: User, what: dict[str, Any], words: str
    ) -> None:
        prepare(job, office, **what)
        (sentence,) = told(NOW)
        assert "Job 1: no setting posts on Tue May 5" in sentence
        assert words in sentence

    def test_material_that_is_promised_too_late_is_told(self, job: FenceJob, office: User) -> None:
        late = {"is_needed": True, "promised_on": may(8), "received_on": None}
        prepare(job, office, materials={job.phases.get(kind="set"): late})
        (sentence,) = told(NOW)
        assert sentence.startswith("Stands no longer: Job 1: no setting posts on Tue May 5, 2026.")


class TestTheFirstDayThatAllowsIt:
    def test_takes_a_block_that_fits_no_longer(self, job: FenceJob, crew: Crew) -> None:
        CrewDay.objects.filter(phase__kind="hang").update(date=may(6), start=dt.time(11))
        pours(job, crew, "13:00")
        (misfit,) = changes_view(now=TUESDAY_EVENING).misfits
        assert "hanging on Wed May 6 11:00 comes too early" in misfit.sentences[0]
        assert misfit.row is not None
        moved = move_to_first_day(block=misfit.row, actor=None, now=TUESDAY_EVENING)
        # Hard on Wednesday 21:00: Thursday, when the crew's day begins.
        assert (moved.date, moved.start, moved.is_pinned) == (may(7), None, True)
        assert changes_view(now=TUESDAY_EVENING).misfits == []

    def test_lasts_longer_where_half_the_crew_is_away(self, job: FenceJob, crew: Crew) -> None:
        MemberTimeOff.objects.create(
            member=crew.members.all()[0], first_day=may(7), last_day=may(7)
        )
        CrewDay.objects.filter(phase__kind="hang").update(date=may(6))
        hang = CrewDay.objects.get(phase__kind="hang")
        moved = move_to_first_day(block=hang, actor=None, now=NOW)
        # Hard on Wednesday 19:00; four hours of two people are eight of one on Thursday.
        assert (moved.date, moved.hours) == (may(7), Decimal(8))

    def test_says_what_it_waits_for(self, job: FenceJob) -> None:
        CrewDay.objects.filter(phase__kind="set").delete()
        hang = CrewDay.objects.get(phase__kind="hang")
        with pytest.raises(Refusal, match="setting posts is not on the calendar"):
            move_to_first_day(block=hang, actor=None, now=NOW)
        hang.refresh_from_db()
        assert hang.date == may(7)


def test_database_refuses_a_cause_nobody_knows_and_a_second_unseen_change(job: FenceJob) -> None:
    values = {"job": job, "moves": [], "made_at": NOW}
    PlanChange.objects.create(cause="pour", **values)
    PlanChange.objects.create(cause="pour", seen_at=NOW, **values)
    for cause in ("pour", "whim"):
        with pytest.raises(IntegrityError), transaction.atomic():
            PlanChange.objects.create(cause=cause, **values)
