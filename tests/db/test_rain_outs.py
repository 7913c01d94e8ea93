"""A day lost to rain: what moves where, what stays, and which ticket is to be called for again.

NOW is Monday, 4 May 2026. The expected days are worked by hand from the crew's hours (8 a day,
Monday to Friday) and the waits of trade.md section 8; no figure comes from the program.
"""

import datetime as dt
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from firm.errors import Refusal
from firm.models import AuditEntry, Clearance, Role, User
from scheduling.engine.crew_days import find_violations
from scheduling.models import (
    Crew,
    CrewDay,
    DayReport,
    FenceJob,
    JobDates,
    RainDay,
    RainOut,
    RainOutJob,
)
from scheduling.selectors.planning import standing_plan
from scheduling.selectors.rain_outs import call_list
from scheduling.services.placing import place_job
from scheduling.services.rain_outs import (
    RainOutAsked,
    RainOutLook,
    carry_out_rain_out,
    look_at_rain_out,
    tick_told,
)
from tests.cast import make_person
from tests.crew_cast import days_of, make_full_job, make_red_crew, may, put_on
from tests.factories import NOW
from tests.firm_cast import make_jurisdiction

pytestmark = pytest.mark.django_db
MONDAY = may(4)
WARM = {"air_f": 72.0}  # 32 h to panels, 72 h to gates: trade.md, section 8, and standards.md


@pytest.fixture
def crew(db: None) -> Crew:
    return make_red_crew()


@pytest.fixture
def owner(db: None) -> User:
    return make_person(Role.OWNER)


def asked(day: int, **changes: Any) -> RainOutAsked:
    values: dict[str, Any] = {
        "date": may(day),
        "crew": None,
        "work": "barred",
        "others": "stay",
        "with_fixed": False,
        "rain_in": 1.0,
    }
    return RainOutAsked(**(values | changes))


def finish(job: FenceJob, *kinds: str) -> FenceJob:
    """Let a job's phases be done, so that only the others are placed."""
    job.phases.filter(kind__in=kinds).update(finished_on=dt.date(2026, 5, 1))
    return job


def digging_job(number: int, crew: Crew, day: int, *, hours: str = "8") -> FenceJob:
    """Return a job of digging alone, a whole day of the crew's two people."""
    job = make_full_job(number, on=MONDAY)
    finish(job, "layout", "set", "hang", "gates", "clean_up")
    job.phases.filter(kind="dig").update(labor_hours=float(hours) * 2)
    put_on(job, "dig", crew, may(day), hours=hours)
    return job


def fates(look: RainOutLook) -> dict[str, str]:
    return {str(one.job): one.shifted.fate.value for one in look.jobs}


def do(owner: User, what: RainOutAsked) -> RainOut:
    look = look_at_rain_out(asked=what, now=NOW)
    return carry_out_rain_out(asked=what, mark=look.mark, actor=owner, now=NOW)


def test_lost_work_takes_the_next_free_day_and_other_jobs_stay(crew: Crew, owner: User) -> None:
    first, second = digging_job(1, crew, 5), digging_job(2, crew, 6)
    look = look_at_rain_out(asked=asked(5), now=NOW)
    assert days_of(first) == ["5 dig 8.00"]
    assert not RainDay.objects.exists()
    done = carry_out_rain_out(asked=asked(5), mark=look.mark, actor=owner, now=NOW)
    assert (days_of(first), days_of(second)) == (["7 dig 8.00"], ["6 dig 8.00"])
    assert RainDay.objects.get().rain_in == 1.0
    assert [one.line for one in call_list(done).calls] == [
        "Customer 1, 555-0117, Job 1: Because of the rain we come on Thu May 7 instead of "
        "Tue May 5."
    ]
    assert AuditEntry.objects.filter(action="called a day rained out", actor=owner).exists()


def test_jobs_behind_move_back_in_their_order_where_that_is_asked(crew: Crew, owner: User) -> None:
    jobs = [digging_job(number, crew, day) for number, day in ((1, 5), (2, 6), (3, 8))]
    done = do(owner, asked(5, others="line"))
    # The third stands two days behind and keeps its day.
    assert [days_of(job) for job in jobs] == [["6 dig 8.00"], ["7 dig 8.00"], ["8 dig 8.00"]]
    assert {row.job.number for row in done.jobs.all()} == {1, 2}


def test_only_what_that_much_rain_bars_is_lost(crew: Crew) -> None:
    # A third of an inch: over the 0.25 in of hanging, under the 0.5 in of digging (rain.toml).
    job = digging_job(1, crew, 5)
    with pytest.raises(Refusal, match=r"Nothing of that day is to be moved.*goes on in that much"):
        look_at_rain_out(asked=asked(5, rain_in=0.33), now=NOW)
    look = look_at_rain_out(asked=asked(5, rain_in=0.33, work="all"), now=NOW)
    assert fates(look) == {str(job): "moved"}


def test_what_was_placed_by_hand_or_reported_stays(crew: Crew, owner: User) -> None:
    by_hand, reported, lost = (digging_job(n, crew, 5, hours="2") for n in (1, 2, 3))
    CrewDay.objects.filter(job=by_hand).update(is_pinned=True)
    DayReport.objects.create(job=reported, crew=crew, date=may(5), reported_at=NOW)
    look = look_at_rain_out(asked=asked(5), now=NOW)
    assert [one.why for one in look.staying] == ["was placed by hand", "is reported already"]
    assert fates(look) == {str(lost): "moved"}
    do(owner, asked(5, with_fixed=True))
    assert days_of(by_hand) == ["6 dig 2.00"]
    assert not CrewDay.objects.get(job=by_hand).is_pinned
    # It followed two hours of the first from 7:00.
    assert days_of(reported) == ["5 dig 09:00 2.00"]


def test_note_goes_along_with_its_block(crew: Crew, owner: User) -> None:
    job = digging_job(1, crew, 5)
    CrewDay.objects.update(note="Dog in the yard")
    do(owner, asked(5))
    assert [row.note for row in CrewDay.objects.filter(job=job)] == ["Dog in the yard"]


def test_later_phases_follow_their_concrete(crew: Crew, owner: User) -> None:
    job = finish(make_full_job(1, on=MONDAY), "layout", "dig", "gates", "clean_up")
    job.phases.filter(kind="set").update(labor_hours=8)
    job.phases.filter(kind="hang").update(labor_hours=8)
    put_on(job, "set", crew, may(5), hours="4", **WARM)
    put_on(job, "hang", crew, may(7), hours="4")
    do(owner, asked(5))
    # Set on Wednesday until 11:00, 32 h at a steady 72 F: Thursday 19:00, so Friday morning.
    assert days_of(job) == ["6 set 4.00", "8 hang 4.00"]


def test_dig_that_outlives_its_ticket_comes_off_and_the_saving_call_is_named(
    crew: Crew, owner: User
) -> None:
    job = digging_job(1, crew, 5)
    digging_job(2, crew, 6)
    assert job.site is not None
    # Notice of two working days, the day of the call not counted (Alabama's rule, standards.md
    # section 9): for a dig on Thursday the 7th the last call is on Monday the 4th.
    job.site.jurisdiction = make_jurisdiction(locate_notice=2, locate_day_kind="working")
    job.site.save()
    Clearance.objects.filter(site=job.site, kind="locate").update(expires_on=may(6), number="A-7")
    look = look_at_rain_out(asked=asked(5), now=NOW)
    assert fates(look) == {str(job): "off"}
    assert "Locate ticket A-7: ended on Wed May 6, 2026." in look.jobs[0].shifted.why
    assert look.jobs[0].call == (
        "Job 1: Locate ticket A-7 ends on Wed May 6, 2026, and digging comes on Thu May 7, 2026. "
        "Call again by Mon May 4, 2026: that still saves it."
    )
    done = do(owner, asked(5))
    assert days_of(job) == []
    assert call_list(done).tickets == [look.jobs[0].call]
    assert "we will call with a new day" in call_list(done).text


def test_job_that_another_waits_for_is_not_taken_off_under_it(crew: Crew) -> None:
    first, other = digging_job(1, crew, 5), digging_job(2, crew, 6)
    JobDates.objects.create(job=other, after_job=first)
    Clearance.objects.filter(site=first.site, kind="locate").update(expires_on=may(5))
    look = look_at_rain_out(asked=asked(5), now=NOW)
    assert fates(look) == {str(first): "stuck"}
    assert "ended on Tue May 5, 2026." in look.jobs[0].shifted.why


def test_job_whose_later_block_was_placed_by_hand_stands_and_is_named(
    crew: Crew, owner: User
) -> None:
    job = finish(make_full_job(1, on=MONDAY), "layout", "dig", "gates", "clean_up")
    put_on(job, "set", crew, may(5), hours="4", **WARM)
    put_on(job, "hang", crew, may(7), hours="4", is_pinned=True)
    other = digging_job(2, crew, 5, hours="2")
    look = look_at_rain_out(asked=asked(5), now=NOW)
    assert fates(look) == {str(job): "stuck", str(other): "moved"}
    assert "hanging on Thu May 7 07:00 comes too early" in look.jobs[0].shifted.why
    do(owner, asked(5))
    assert days_of(job) == ["5 set 4.00", "7 hang 4.00"]
    assert days_of(other) == ["6 dig 2.00"]
    CrewDay.objects.filter(job=other).delete()
    with pytest.raises(Refusal, match="comes too early"):
        do(owner, asked(5))


def test_look_that_is_no_longer_true_moves_nothing(crew: Crew, owner: User) -> None:
    first = digging_job(1, crew, 5)
    look = look_at_rain_out(asked=asked(5), now=NOW)
    digging_job(2, crew, 6)
    with pytest.raises(Refusal, match="has changed since you looked"):
        carry_out_rain_out(asked=asked(5), mark=look.mark, actor=owner, now=NOW)
    assert days_of(first) == ["5 dig 8.00"]
    assert not RainOut.objects.exists()
    assert not RainDay.objects.exists()


@pytest.mark.parametrize(
    ("day", "changes", "words", "field"),
    [
        (1, {}, "That day is over", "date"),
        (5, {"rain_in": None}, "Say how much rain", "rain_in"),
        (6, {}, "Nothing of that day is to be moved.", ""),
    ],
)
def test_is_refused_in_words(
    crew: Crew, day: int, changes: dict[str, Any], words: str, field: str
) -> None:
    digging_job(1, crew, 5)
    with pytest.raises(Refusal, match=words) as refused:
        look_at_rain_out(asked=asked(day, **changes), now=NOW)
    assert refused.value.field == field


def test_customer_is_ticked_as_told_once(crew: Crew, owner: User) -> None:
    digging_job(1, crew, 5)
    row = do(owner, asked(5)).jobs.get()
    for is_told in (True, True, False):
        tick_told(row=row, is_told=is_told, actor=owner, now=NOW)
    row.refresh_from_db()
    assert (row.told_at, row.told_by) == (None, None)
    told = AuditEntry.objects.filter(action="told a customer of the rain")
    assert told.count() == 1


@pytest.mark.parametrize("others", ["stay", "line"])
def test_whole_plan_that_comes_out_breaks_no_rule(crew: Crew, owner: User, others: str) -> None:
    Crew.objects.create(name="White crew")
    jobs = [make_full_job(number, on=MONDAY) for number in range(1, 9)]
    for job in jobs:
        place_job(job=job, actor=owner, now=NOW)
    do(owner, asked(5, work="all", others=others, rain_in=None))
    assert not CrewDay.objects.filter(date=may(5)).exists()
    plan = standing_plan(today=MONDAY, also=[job.pk for job in jobs])
    assert find_violations(plan.blocks, plan.facts) == ()
    phases = [{row.phase.kind for row in job.crew_days.select_related("phase")} for job in jobs]
    assert phases == [{"layout", "dig", "set", "hang", "gates", "clean_up"}] * len(jobs)


def test_block_that_followed_a_lost_one_keeps_its_hour(crew: Crew, owner: User) -> None:
    lost = digging_job(1, crew, 5, hours="3")
    stays = digging_job(2, crew, 5, hours="2")
    DayReport.objects.create(job=stays, crew=crew, date=may(5), reported_at=NOW)
    do(owner, asked(5))
    assert days_of(stays) == ["5 dig 10:00 2.00"]
    assert days_of(lost) == ["6 dig 3.00"]


def test_database_refuses_what_nobody_knows_and_a_job_twice(crew: Crew) -> None:
    day = RainOut.objects.create(date=may(5), work="all", others="stay", made_at=NOW)
    job = digging_job(1, crew, 5)
    RainOutJob.objects.create(rain_out=day, job=job, fate="moved")
    for fate in ("moved", "gone"):
        with pytest.raises(IntegrityError), transaction.atomic():
            RainOutJob.objects.create(rain_out=day, job=job, fate=fate)
    for values in ({"work": "some", "others": "stay"}, {"work": "all", "others": "go"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            RainOut.objects.create(date=may(5), made_at=NOW, **values)


def test_day_behind_that_another_job_broke_bars_no_rain_out(crew: Crew, owner: User) -> None:
    """Job 2 was to wait for job 1, and was dug before it all the same: that is past mending."""
    first, other = digging_job(1, crew, 5), digging_job(2, crew, 1)
    JobDates.objects.create(job=other, after_job=first)
    look = look_at_rain_out(asked=asked(5), now=NOW)
    assert fates(look) == {str(first): "moved"}
    do(owner, asked(5))
    assert days_of(first) == ["6 dig 8.00"]
    assert days_of(other) == ["1 dig 8.00"]


@pytest.mark.parametrize("overridden", [False, True])
def test_wait_that_is_broken_already_bars_no_rain_out_of_the_job_waited_for(
    crew: Crew, owner: User, overridden: bool
) -> None:
    """Job 2 stands on Wednesday though job 1 is over on Thursday; by the rain on Friday."""
    white = Crew.objects.create(name="White crew")
    first, other = digging_job(1, crew, 7), digging_job(2, white, 6)
    JobDates.objects.create(job=other, after_job=first)
    (stood,) = after_words()
    assert "Job 1 comes first and is over on Thu May 7 15:00" in stood
    if overridden:
        breach = {"rule": "after", "sentence": stood, "key": str(other.crew_days.get().pk)}
        other.crew_days.update(
            is_pinned=True,
            override_note="Only the corner",
            override_at=NOW,
            override_breaches=[breach | {"short_h": 32.0}],
        )
        assert after_words() == []
    assert fates(look_at_rain_out(asked=asked(7), now=NOW)) == {str(first): "moved"}
    do(owner, asked(7))
    assert (days_of(first), days_of(other)) == (["8 dig 8.00"], ["6 dig 8.00"])
    # It is told as it is now, though it barred nothing.
    (said,) = after_words()
    assert "Job 1 comes first and is over on Fri May 8 15:00" in said


def after_words() -> list[str]:
    plan = standing_plan(today=MONDAY)
    return [one.sentence for one in find_violations(plan.blocks, plan.facts)]
