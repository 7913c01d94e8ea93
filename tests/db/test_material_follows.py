"""Material days follow the calendar: who builds first takes first, in the same transaction.

Job 11 sets on May 11 and needs 14 posts and 52 bags, job 12 on May 8 and needs 6 and 27. The yard
has 20 posts and 60 bags, 27 bags more are promised for May 9. So job 12 takes 6 and 27 and is
whole; job 11 finds 14 posts and 60 - 27 = 33 bags, and waits for 19 of May 9. Set on the 12th, job
12 comes second: job 11 takes 14 and 52 and is whole, job 12 finds 8 bags and waits for 19.
"""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from firm.errors import Refusal
from firm.models import Role, User
from scheduling.models import (
    Crew,
    CrewDay,
    FenceJob,
    LinePromise,
    MaterialDates,
    PlanDraft,
    RainOut,
)
from scheduling.services import orders
from scheduling.services.jobs import call_off_job
from scheduling.services.material_dates import derive_dates
from scheduling.services.placing import place_all
from scheduling.services.plan_drafts import take_plan
from scheduling.services.plan_questions import question_of
from scheduling.services.planning import drop_block, move_block
from scheduling.services.rain_outs import RainOutAsked, carry_out_rain_out, look_at_rain_out
from tests.buying_cast import BAG, POST, RAIL, make_suppliers, make_two_jobs, put_in
from tests.cast import make_person
from tests.crew_cast import make_red_crew, may
from tests.factories import NOW, TODAY, make_firm

pytestmark = pytest.mark.django_db
Jobs = tuple[FenceJob, FenceJob]


@pytest.fixture
def crew(db: None) -> Crew:
    make_firm()
    return make_red_crew()


@pytest.fixture
def jobs(crew: Crew) -> Jobs:
    found = make_two_jobs(crew)
    for job in found:
        job.phases.update(material_received_on=None, material_promised_on=None)
        done = job.phases.exclude(kind__in=["set", "hang"])
        done.update(finished_on=dt.date(2026, 5, 1), needs_material=False)
    put_in(POST, 20)
    put_in(BAG, 60)
    put_in(RAIL, 36)
    order_bags(27, promised_on=may(9))
    return found


def order_bags(count: int, *, promised_on: dt.date) -> None:
    _, concrete = make_suppliers()
    line = orders.DraftLine(
        item=BAG.item, name=BAG.name, unit=BAG.unit, count=count, unit_cost=Decimal("6.50")
    )
    who: dict[str, Any] = {"actor": None, "now": NOW}
    order = orders.draft_order(
        supplier_id=concrete.pk, lines=[line], job=None, needed_by=may(8), **who
    )
    sent = orders.send_order(order=order, to="", **who)
    days = {line.pk: promised_on for line in sent.lines.all()}
    orders.write_down_promises(order=sent, days=days, **who)


def days_of(job: FenceJob) -> tuple[dt.date | None, dt.date | None]:
    phase = job.phases.get(kind="set")
    return phase.material_promised_on, phase.material_received_on


def move(job: FenceJob, day: int) -> CrewDay:
    block = CrewDay.objects.get(job=job, phase__kind="set")
    same = {name: getattr(block, name) for name in ("crew", "hours", "start", "air_f")}
    return move_block(block=block, date=may(day), **same, actor=None, now=NOW)


def test_who_sets_later_waits_for_the_order(jobs: Jobs) -> None:
    first, other = jobs
    assert (days_of(first), days_of(other)) == ((may(9), None), (None, TODAY))
    move(other, 12)
    assert (days_of(first), days_of(other)) == ((may(9), TODAY), (may(9), None))
    move(other, 8)
    assert (days_of(first), days_of(other)) == ((may(9), None), (may(9), TODAY))


def test_move_that_takes_another_s_material_is_refused_and_changes_no_days(jobs: Jobs) -> None:
    first, other = jobs
    LinePromise.objects.update(promised_on=may(13))
    block = CrewDay.objects.get(job=other, phase__kind="set")
    before = days_of(first), days_of(other)
    with pytest.raises(Refusal, match=r"Job 12: no setting posts on Tue May 12, 2026. Material"):
        move(other, 12)
    block.refresh_from_db()
    assert block.date == may(8)
    assert (days_of(first), days_of(other)) == before


def test_block_taken_off_gives_its_turn_away(jobs: Jobs) -> None:
    first, other = jobs
    drop_block(block=CrewDay.objects.get(job=other, phase__kind="hang"), actor=None, now=NOW)
    assert days_of(other) == (None, TODAY)
    drop_block(block=CrewDay.objects.get(job=other, phase__kind="set"), actor=None, now=NOW)
    assert (days_of(first)[1], days_of(other)[1]) == (TODAY, None)


def test_job_called_off_leaves_its_material(jobs: Jobs) -> None:
    first, other = jobs
    call_off_job(job=other, reason="Moved away", actor=make_person(Role.OFFICE), now=NOW)
    assert days_of(first) == (may(9), TODAY)


def test_placing_all_gives_each_its_turn(jobs: Jobs) -> None:
    CrewDay.objects.filter(job=jobs[1]).delete()
    place_all(actor=None, now=NOW)
    by_set_day = sorted(jobs, key=lambda job: job.crew_days.filter(phase__kind="set")[0].date)
    received = [days_of(job)[1] for job in by_set_day]
    assert received == [TODAY, None]


def test_move_that_changes_no_turn_reckons_nothing(jobs: Jobs) -> None:
    with CaptureQueriesContext(connection) as caught:
        move(jobs[1], 7)
    assert not any("quantities" in one["sql"] for one in caught)


def test_nothing_is_reckoned_for_a_firm_that_buys_nothing_here(crew: Crew) -> None:
    _, other = make_two_jobs(crew)
    other.phases.exclude(kind="set").update(finished_on=dt.date(2026, 5, 1))
    other.phases.update(material_received_on=TODAY)
    with CaptureQueriesContext(connection) as caught:
        move(other, 12)
    assert not any("quantities" in one["sql"] for one in caught)
    assert not MaterialDates.objects.exists()


def plan_with(jobs: Jobs, *, job: FenceJob, day: int) -> PlanDraft:
    """Return a plan ready to be taken: the calendar as it stands, but for one job's posts."""
    rows = CrewDay.objects.filter(job__in=jobs).select_related("phase")
    blocks = [
        {
            "job": str(row.job_id),
            "phase": row.phase.kind,
            "crew": str(row.crew_id),
            "date": (
                may(day) if row.job_id == job.pk and row.phase.kind == "set" else row.date
            ).isoformat(),
            "hours": float(row.hours),
            "start": None,
            "machine": None,
        }
        for row in rows
    ]
    return PlanDraft.objects.create(
        state=PlanDraft.State.READY,
        asked_at=NOW,
        seconds=10,
        blocks=blocks,
        calendar=question_of(TODAY).mark,
    )


def test_plan_that_leaves_material_short_is_not_taken(jobs: Jobs) -> None:
    """Its blocks stood well by the days as they were; by their new order they stand no longer."""
    _, other = jobs
    LinePromise.objects.update(promised_on=may(13))
    derive_dates(actor=None, now=NOW)
    before = days_of(jobs[0]), days_of(other)
    draft = plan_with(jobs, job=other, day=12)
    with pytest.raises(Refusal, match=r"Job 12: no setting posts on Tue May 12, 2026. Material"):
        take_plan(draft=draft, actor=make_person(Role.OFFICE), now=NOW)
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.READY
    assert CrewDay.objects.get(job=other, phase__kind="set").date == may(8)
    assert (days_of(jobs[0]), days_of(other)) == before


def test_plan_under_which_all_material_comes_in_time_is_taken(jobs: Jobs) -> None:
    _, other = jobs
    draft = plan_with(jobs, job=other, day=12)
    take_plan(draft=draft, actor=make_person(Role.OFFICE), now=NOW)
    assert CrewDay.objects.get(job=other, phase__kind="set").date == may(12)
    assert days_of(other) == (may(9), None)


def rained_out(day: int, office: User) -> RainOut:
    asked = RainOutAsked(
        date=may(day), crew=None, work="all", others="stay", with_fixed=False, rain_in=None
    )
    look = look_at_rain_out(asked=asked, now=NOW)
    done = carry_out_rain_out(asked=asked, mark=look.mark, actor=office, now=NOW)
    assert list(look.short) == done.short
    return done


def test_rain_out_names_whose_material_it_leaves_short(jobs: Jobs) -> None:
    """The order was due on May 3 and has not come, so job 11 was short; now job 12 is.

    Lost on the 8th, job 12 finds its next free hours on the 11th, behind job 11's of that day.
    Job 11 has the lower number and takes 52 of the 60 bags; 27 - 8 = 19 are lacking.
    """
    _, other = jobs
    LinePromise.objects.update(promised_on=may(3))
    derive_dates(actor=None, now=NOW)
    done = rained_out(8, make_person(Role.OFFICE))
    assert CrewDay.objects.get(job=other, phase__kind="set").date == may(11)
    assert done.short == [
        "Job 12: setting posts on Mon May 11, 2026 lacks material. "
        "Concrete 80 lb: 19 promised for Sun May 3, 2026."
    ]


def test_rain_out_after_which_all_material_comes_in_time_names_none(jobs: Jobs) -> None:
    assert rained_out(8, make_person(Role.OFFICE)).short == []


def test_rain_out_says_nothing_of_material_where_none_is_bought_here(crew: Crew) -> None:
    for job in make_two_jobs(crew):
        job.phases.exclude(kind__in=["set", "hang"]).update(finished_on=dt.date(2026, 5, 1))
        job.phases.update(material_received_on=TODAY)
    with CaptureQueriesContext(connection) as caught:
        assert rained_out(8, make_person(Role.OFFICE)).short == []
    assert not any("quantities" in one["sql"] for one in caught)
