"""The page on which all jobs are planned at once, from asking for it to the calendar."""

import datetime as dt
import time
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from unittest.mock import patch

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firm.models import AuditEntry, Job, User
from firm.services.jobs import JobRun, run_due_jobs
from scheduling.engine.crew_days import find_violations
from scheduling.engine.planner.building import Asked
from scheduling.engine.planner.figures import Figures
from scheduling.engine.planner.planning import Planned, make_plan
from scheduling.engine.planner.solving import Limits, Progress
from scheduling.models import (
    AirTemperature,
    Crew,
    CrewDay,
    DayReport,
    FenceJob,
    JobDates,
    PlanDraft,
    RainDay,
)
from scheduling.selectors.planning import standing_plan
from scheduling.services.plan_drafts import TOLD_EVERY_S, ask_for_plan, stop_planning
from tests.crew_cast import days_of, make_full_job, make_red_crew, may, put_on, rains
from tests.factories import NOW

pytestmark = pytest.mark.django_db
MONDAY = may(4)


@pytest.fixture(autouse=True)
def _in_may() -> object:
    with patch("django.utils.timezone.now", return_value=NOW):
        yield None


@pytest.fixture
def crew(db: None) -> Crew:
    return make_red_crew()


@pytest.fixture
def job(crew: Crew) -> FenceJob:
    return make_full_job(1001, on=MONDAY)


def plan_page(client: Client) -> str:
    answer = client.get(reverse("plan"))
    assert answer.status_code == 200
    return unescape(answer.content.decode())


def worked_out(client: Client) -> PlanDraft:
    """Ask for a plan on the page and have it worked out."""
    ready = PlanDraft.objects.filter(state=PlanDraft.State.READY).first()
    asked = {"seconds": "10", "puts_aside": ready.pk if ready else ""}
    assert client.post(reverse("plan"), asked).status_code == 302
    run_due_jobs(now=NOW)
    return PlanDraft.objects.first()  # type: ignore[return-value]


def test_asked_for_worked_out_looked_at_and_taken(as_office: Client, job: FenceJob) -> None:
    draft = worked_out(as_office)
    assert draft.state == PlanDraft.State.READY
    assert not CrewDay.objects.exists()
    page = plan_page(as_office)
    assert str(job) in page
    assert "no days yet" in page
    assert "jobs without a place" in page
    assert "Concrete counts here as set at the hour its posts are planned to be done" in page
    taken = as_office.post(reverse("plan_take", args=[draft.pk]))
    first = min(one["date"] for one in draft.blocks)
    assert taken["Location"] == f"{reverse('week')}?from={first}"
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.TAKEN
    assert CrewDay.objects.filter(job=job).count() == len(draft.blocks) > 0
    plan = standing_plan(today=NOW.date(), also=[job.pk])
    assert find_violations(plan.blocks, plan.facts) == ()
    hours: dict[str, float] = {}
    for row in CrewDay.objects.filter(job=job):
        hours[row.phase.kind] = hours.get(row.phase.kind, 0.0) + float(row.hours)
    assert set(hours) == {phase.kind for phase in job.phases.all()}
    assert AuditEntry.objects.filter(action__contains="took a plan onto the calendar").exists()


def test_taken_it_is_looked_at_where_it_first_changes_the_calendar(
    as_office: Client, job: FenceJob, crew: Crew
) -> None:
    as_office.post(reverse("plan_take", args=[worked_out(as_office).pk]))
    later = make_full_job(1002, on=MONDAY)
    FenceJob.objects.filter(pk=later.pk).update(signed_at=NOW)
    JobDates.objects.create(job=later, not_before=may(18))
    stood = set(CrewDay.objects.values_list("phase", "date"))
    taken = as_office.post(reverse("plan_take", args=[worked_out(as_office).pk]))
    assert stood <= set(CrewDay.objects.values_list("phase", "date"))
    first = min(CrewDay.objects.filter(job=later).values_list("date", flat=True))
    assert first >= may(18)
    assert taken["Location"] == f"{reverse('week')}?from={first}"
    # The same plan again changes nothing: the week of today.
    again = as_office.post(reverse("plan_take", args=[worked_out(as_office).pk]))
    assert again["Location"] == reverse("week")


def test_page_says_that_fixed_days_are_not_counted(
    as_office: Client, job: FenceJob, crew: Crew
) -> None:
    """The job's layout is placed within a day, its digging stands fixed a week later."""
    job.phases.exclude(kind__in=["layout", "dig"]).update(finished_on=may(1))
    put_on(job, "dig", crew, may(12), hours="4", is_pinned=True)
    draft = worked_out(as_office)
    assert {one["phase"] for one in draft.blocks} == {"layout"}
    (span,) = [one["value"] for one in draft.stages if one["name"] == "span_days"]
    assert span == 0
    page = plan_page(as_office)
    assert "days from the first that the plan places to the last, over all jobs" in page
    assert "work that stands fixed on the calendar is not in it" in page


def test_block_placed_by_hand_stays(as_office: Client, job: FenceJob, crew: Crew) -> None:
    by_hand = put_on(job, "layout", crew, MONDAY + dt.timedelta(days=2), hours="1")
    CrewDay.objects.filter(pk=by_hand.pk).update(is_pinned=True)
    draft = worked_out(as_office)
    as_office.post(reverse("plan_take", args=[draft.pk]))
    by_hand.refresh_from_db()
    assert by_hand.date == MONDAY + dt.timedelta(days=2)
    assert CrewDay.objects.filter(job=job, phase=by_hand.phase).count() == 1


@pytest.mark.parametrize("air_f", [75, 28])
def test_air_of_a_day_that_is_given_up_is_not_counted_on(
    as_office: Client, job: FenceJob, crew: Crew, air_f: int
) -> None:
    """The posts were to be set on a warm, or a frosty, day three weeks on; now it is sooner."""
    put_on(job, "set", crew, MONDAY + dt.timedelta(days=21), hours="4", air_f=air_f)
    draft = worked_out(as_office)
    as_office.post(reverse("plan_take", args=[draft.pk]))
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.TAKEN
    plan = standing_plan(today=NOW.date(), also=[job.pk])
    assert find_violations(plan.blocks, plan.facts) == ()


def test_cool_air_of_a_day_that_is_kept_is_counted_on(
    as_office: Client, job: FenceJob, crew: Crew
) -> None:
    """May is usually 65 F, but 45 was written down of the day on which the posts are set."""
    usual = {"low_f": 60, "high_f": 70, "source": "usual", "entered_at": NOW}
    AirTemperature.objects.create(month=5, **usual)
    job.phases.filter(kind__in=["layout", "dig"]).update(finished_on=may(1))
    put_on(job, "set", crew, may(5), hours="2.5", air_f=45)
    draft = worked_out(as_office)
    assert any(one["phase"] == "set" and one["date"] == "2026-05-05" for one in draft.blocks)
    as_office.post(reverse("plan_take", args=[draft.pk]))
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.TAKEN


def test_plan_for_a_calendar_that_changed_is_not_taken(
    as_office: Client, job: FenceJob, crew: Crew
) -> None:
    draft = worked_out(as_office)
    put_on(job, "layout", crew, MONDAY + dt.timedelta(days=1), hours="1")
    answer = as_office.post(reverse("plan_take", args=[draft.pk]), follow=True)
    assert "The calendar has changed" in unescape(answer.content.decode())
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.READY
    assert CrewDay.objects.count() == 1


def press(client: Client, row: CrewDay, day: dt.date) -> None:
    """Press the button of a block on the week that moves it to the next or last day of work."""
    answer = client.post(reverse("crew_day_move", args=[row.pk]), {"date": day.isoformat()})
    assert answer.status_code == 302
    row.refresh_from_db()
    assert row.date == day


def test_block_moved_away_and_back_is_fixed_and_outdates_the_plan(
    as_office: Client, job: FenceJob, crew: Crew
) -> None:
    """It stands where it stood, but no plan may take its place any more."""
    row = put_on(job, "layout", crew, may(5), hours="1.5")
    draft = worked_out(as_office)
    assert any(one["phase"] == "layout" and one["date"] == "2026-05-05" for one in draft.blocks)
    press(as_office, row, may(6))
    press(as_office, row, may(5))
    assert row.is_pinned
    answer = as_office.post(reverse("plan_take", args=[draft.pk]), follow=True)
    assert "The calendar has changed" in unescape(answer.content.decode())
    assert CrewDay.objects.count() == 1


def test_job_without_a_place_is_told_why(as_office: Client, job: FenceJob) -> None:
    assert job.site is not None
    job.site.clearances.filter(kind="locate").delete()
    draft = worked_out(as_office)
    assert draft.blocks == []
    page = plan_page(as_office)
    assert "1 job" not in page or "Without a place" in page
    assert "No locate ticket." in page
    assert "Settle what is said of a job, and work the plan out again" in page
    both = ["No locate ticket.", "The customer wants nobody there."]
    PlanDraft.objects.filter(pk=draft.pk).update(waits={str(job.pk): both})
    assert "Of several reasons for a job, it is enough to settle one" in plan_page(as_office)


@pytest.fixture
def hung(crew: Crew) -> FenceJob:
    """Return a job that hangs on Wed 6 and has its gates on Thu 7; heavy rain bars both by then."""
    found = make_full_job(1002, on=MONDAY)
    found.phases.filter(kind__in=["layout", "dig", "set"]).update(finished_on=may(1))
    poured = {"poured_at": NOW - dt.timedelta(days=5), "mix": "standard", "air_f": 70}
    DayReport.objects.create(job=found, crew=crew, date=may(1), reported_at=NOW, **poured)
    put_on(found, "hang", crew, may(6), hours="1.5")
    put_on(found, "gates", crew, may(7), hours="0.75")
    for day in range(5, 8):
        rains(may(day), 2.0)
    return found


def test_fixed_clean_up_of_one_job_bars_no_plan_of_the_others(
    as_office: Client, job: FenceJob, hung: FenceJob, crew: Crew
) -> None:
    put_on(hung, "clean_up", crew, may(8), hours="2.5", is_pinned=True)
    stood = days_of(hung)
    draft = worked_out(as_office)
    page = plan_page(as_office)
    assert "Without a place" in page
    assert "No hanging on Tue May 5" in page
    assert "What stands of it now stays" in page
    assert "since this is fixed behind it: clean-up on Fri May 8." in page
    taken = as_office.post(reverse("plan_take", args=[draft.pk]))
    assert taken["Location"].startswith(reverse("week"))
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.TAKEN
    assert days_of(hung) == stood
    assert CrewDay.objects.filter(job=job).exists()


def test_what_leaves_the_calendar_is_told(as_office: Client, hung: FenceJob, crew: Crew) -> None:
    """Nothing of the job is fixed, and by now nothing can be hung on its site at all."""
    JobDates.objects.create(job=hung, not_before=may(1) + dt.timedelta(days=90))
    draft = worked_out(as_office)
    page = plan_page(as_office)
    assert "Without a place" in page
    assert "off the calendar: hanging, hanging gates" in page
    as_office.post(reverse("plan_take", args=[draft.pk]))
    assert days_of(hung) == []


def test_work_that_is_added_on_a_day_is_told_though_no_day_changes(
    as_office: Client, hung: FenceJob, crew: Crew
) -> None:
    """Hanging needs 2.95 h of two people, 1.5 h together; the gates 0.75 h, clean-up 2.5 h."""
    RainDay.objects.all().delete()
    CrewDay.objects.filter(job=hung, phase__kind="gates").delete()
    CrewDay.objects.filter(job=hung).update(date=may(5))
    worked_out(as_office)
    page = plan_page(as_office)
    assert "Red crew, Tue May 5: hanging 1.5 h</td>" in page
    assert "Red crew, Tue May 5: hanging 1.5 h, hanging gates 0.75 h, clean-up 2.5 h</td>" in page
    assert "the same days" not in page


def test_jobs_that_keep_their_days_are_counted_where_none_changes(
    as_office: Client, hung: FenceJob, crew: Crew
) -> None:
    RainDay.objects.all().delete()
    draft = worked_out(as_office)
    as_office.post(reverse("plan_take", args=[draft.pk]))
    worked_out(as_office)
    page = plan_page(as_office)
    assert "No job's days or work change." in page
    assert "1 job keeps the same days, with the same work." in page


def test_plan_is_put_aside(as_office: Client, job: FenceJob) -> None:
    draft = worked_out(as_office)
    as_office.post(reverse("plan_drop", args=[draft.pk]))
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.DROPPED
    twice = as_office.post(reverse("plan_take", args=[draft.pk]), follow=True)
    assert "no longer open" in twice.content.decode()
    assert not CrewDay.objects.exists()


def test_page_tells_whose_plan_a_new_one_puts_aside(
    as_office: Client, job: FenceJob, owner: User
) -> None:
    as_owner = Client()
    as_owner.force_login(owner)
    assert "puts it aside" not in plan_page(as_owner)
    draft = worked_out(as_owner)
    at = f"{timezone.localtime(NOW):%H:%M}"
    assert f"which {owner} asked for on Mon May 4, {at}, waits" in plan_page(as_office)
    assert f"which you asked for on Mon May 4, {at}, waits" in plan_page(as_owner)
    # Their page was drawn before the plan was ready, and told of none.
    refused = as_office.post(reverse("plan"), {"seconds": "30"})
    assert refused.status_code == 422
    html = unescape(refused.content.decode())
    assert "A plan is ready meanwhile" in html
    assert f'name="puts_aside" value="{draft.pk}"' in html
    assert 'value="30" selected' in html
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.READY
    assert worked_out(as_office).pk != draft.pk
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.DROPPED


def test_second_plan_waits_for_the_first(as_office: Client, job: FenceJob, owner: User) -> None:
    with patch("firm.services.jobs._send"):
        draft = ask_for_plan(actor=owner, seconds=10, now=NOW)
        refused = as_office.post(reverse("plan"), {"seconds": "30"})
    assert PlanDraft.objects.count() == 1
    assert refused.status_code == 422
    assert "being worked out already" in unescape(refused.content.decode())
    page = plan_page(as_office)
    assert "being worked out" in page
    stop_planning(draft=draft, actor=owner, now=NOW)
    run_due_jobs(now=NOW)
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.READY


def test_lost_worker_bars_no_later_plan(as_office: Client, job: FenceJob, owner: User) -> None:
    with patch("firm.services.jobs._send"):
        lost = ask_for_plan(actor=owner, seconds=10, now=NOW)
    Job.objects.filter(kind="calendar.plan").update(state="failed", finished_at=NOW)
    assert "was not worked out" in plan_page(as_office)
    assert worked_out(as_office).state == PlanDraft.State.READY
    lost.refresh_from_db()
    assert lost.state == PlanDraft.State.FAILED


def test_bar_stands_at_its_beginning_while_the_search_gets_ready(
    as_office: Client, owner: User, job: FenceJob
) -> None:
    with patch("firm.services.jobs.app"):
        draft = ask_for_plan(actor=owner, seconds=10, now=NOW)
    none_yet = Figures(unplaced=1, broken=0, late_days=0, minutes=0, span_days=0, end_days=0)
    getting_ready = Progress(aim="unplaced", value=1, bound=0, figures=none_yet, began=None)
    shown: list[int] = []
    pages: list[str] = []

    def compiled_slowly(asked: Asked, limits: Limits, *, clock: Callable[[], float]) -> Planned:
        assert limits.told is not None
        limits.told(getting_ready)
        time.sleep(2 * TOLD_EVERY_S)
        return make_plan(asked, replace(limits, told=None), clock=clock)

    def report(run: JobRun, progress_pct: int) -> None:
        shown.append(progress_pct)
        pages.append(plan_page(as_office))

    with (
        patch("scheduling.services.plan_drafts.make_plan", compiled_slowly),
        patch.object(JobRun, "report", report),
    ):
        run_due_jobs(now=NOW)
    assert shown[0] == 0
    assert "It gets ready. The first time on a machine that can take a minute." in pages[0]
    draft.refresh_from_db()
    assert draft.state == PlanDraft.State.READY


@pytest.mark.parametrize("seconds", ["", "0", "11", "99999999999", "x"])
def test_time_that_was_not_offered_is_refused(as_office: Client, seconds: str) -> None:
    answer = as_office.post(reverse("plan"), {"seconds": seconds})
    assert answer.status_code == 422
    assert not PlanDraft.objects.exists()


def test_page_asks_the_database_the_same_for_one_job_and_for_six(
    as_office: Client, job: FenceJob
) -> None:
    def queries() -> int:
        worked_out(as_office)
        with CaptureQueriesContext(
            connection,
        ) as caught:
            plan_page(as_office)
        return len(caught)

    one = queries()
    for number in range(5):
        make_full_job(2000 + number, on=MONDAY)
    assert queries() == one
