"""What makes a plan answer another question than it was asked, and what does not.

It is planned on Monday May 4: a job with six phases, all of them open, and a crew of two.
"""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db.models import F

from firm.errors import Refusal
from firm.models import Clearance, FirmProfile, Role, UtilityAnswer
from firm.services.jobs import run_due_jobs
from scheduling.models import (
    AirTemperature,
    Crew,
    CrewDay,
    CrewDaysOff,
    CrewMember,
    FenceJob,
    JobDates,
    JobPhase,
    MemberTimeOff,
    PlanDraft,
    RainDay,
)
from scheduling.services.plan_drafts import ask_for_plan, take_plan
from scheduling.services.plan_questions import question_of
from scheduling.services.report_entries import DayEntry, PhaseTicks, PostTicks, ReportEntry
from scheduling.services.reports import save_report
from tests.cast import make_person
from tests.crew_cast import make_full_job, make_red_crew, may, put_on, rains
from tests.factories import NOW, TODAY, make_firm
from tests.report_cast import EVENING, make_day

pytestmark = pytest.mark.django_db
Change = Callable[[FenceJob], object]
WARM = {"low_f": 70, "high_f": 75, "source": "forecast", "entered_at": NOW}


@pytest.fixture
def job(db: None) -> FenceJob:
    """Return a job whose posts are set today and that hangs later, with a day's layout behind."""
    make_firm()
    crew = make_red_crew()
    found = make_full_job(1001, on=TODAY)
    put_on(found, "layout", crew, may(1), hours="0.5")
    put_on(found, "set", crew, TODAY, hours="2")
    put_on(found, "hang", crew, may(11), hours="1.5")
    return found


def report(job: FenceJob, on: dt.date = TODAY, **parts: object) -> None:
    """Hand in a report of the crew, as it does in the evening."""
    entry = ReportEntry(**parts)  # type: ignore[arg-type]
    save_report(job=job, crew=Crew.objects.get(), date=on, entry=entry, actor=None, now=EVENING)


def finish(job: FenceJob, kind: str) -> None:
    ticked = frozenset({job.phases.get(kind=kind).pk})
    report(job, phases=PhaseTicks(finished=ticked))


CHANGES: dict[str, Change] = {
    "phase finished": lambda job: finish(job, "hang"),
    "concrete poured": lambda job: report(
        job, day=DayEntry(pour_time=dt.time(10), without_posts=True, mix="standard")
    ),
    "day behind reported": lambda job: report(job, may(1), day=DayEntry(remarks="Done.")),
    "hours sold": lambda job: job.phases.filter(kind="hang").update(labor_hours=Decimal(9)),
    "ticket ends sooner": lambda job: Clearance.objects.filter(kind="locate").update(
        expires_on=may(8)
    ),
    "paper refused": lambda job: Clearance.objects.filter(kind="permit").update(state="refused"),
    "utility takes it back": lambda job: UtilityAnswer.objects.update(answer="conflict"),
    "material promised": lambda job: job.phases.filter(kind="gates").update(
        needs_material=True, material_promised_on=may(20)
    ),
    "customer's day": lambda job: JobDates.objects.create(job=job, promised_on=may(15)),
    "inspection": lambda job: FenceJob.objects.update(inspection_before_pour=True),
    "mix": lambda job: FenceJob.objects.update(mix="fast"),
    "another crew": lambda job: Crew.objects.create(name="Blue crew"),
    "shorter days": lambda job: Crew.objects.update(hours_per_day=Decimal(6)),
    "crew off": lambda job: CrewDaysOff.objects.create(
        crew=Crew.objects.get(), first_day=may(6), last_day=may(6)
    ),
    "one is away": lambda job: MemberTimeOff.objects.create(
        member=CrewMember.objects.get(name="Bo Tarn"), first_day=may(6), last_day=may(6)
    ),
    "one leaves": lambda job: CrewMember.objects.filter(name="Bo Tarn").update(is_active=False),
    "rain": lambda job: rains(may(6), 0.8),
    "air of a day": lambda job: AirTemperature.objects.create(date=may(5), **WARM),
    "air of a block": lambda job: CrewDay.objects.filter(date=may(11)).update(air_f=70),
    "block fixed": lambda job: CrewDay.objects.filter(date=may(11)).update(is_pinned=True),
    "hours of a block": lambda job: CrewDay.objects.filter(date=may(11)).update(hours=Decimal(1)),
    "job over": lambda job: FenceJob.objects.update(state="finished", finished_at=NOW),
    "speed on the road": lambda job: FirmProfile.objects.update(road_speed_mph=F("id") + 20),
}
NO_CHANGES: dict[str, Change] = {
    "nothing": lambda job: None,
    "word for the crew": lambda job: FenceJob.objects.update(crew_note="Mind the dog."),
    "word at a block": lambda job: CrewDay.objects.update(note="Ring first."),
    "remark of today": lambda job: report(job, day=DayEntry(remarks="Hot.", mix="standard")),
    "crew's name": lambda job: Crew.objects.update(name="Crimson crew"),
    "ticket's number": lambda job: Clearance.objects.update(number="NY-2"),
    "cost of labour": lambda job: JobPhase.objects.update(labour_cost=Decimal(1)),
    "why a crew was off": lambda job: CrewDaysOff.objects.update(reason="Fair"),
    "rain of last week": lambda job: RainDay.objects.create(
        date=may(1) - dt.timedelta(days=7), rain_in=1.0, source="entered", entered_at=NOW
    ),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_plan_is_out_of_date_after(change: Change, job: FenceJob) -> None:
    before = question_of(TODAY).mark
    change(job)
    assert question_of(TODAY).mark != before


@pytest.mark.parametrize("change", NO_CHANGES.values(), ids=NO_CHANGES)
def test_plan_still_answers_after(change: Change, job: FenceJob) -> None:
    CrewDaysOff.objects.create(
        crew=Crew.objects.get(), first_day=may(8), last_day=may(8), reason="Fete"
    )
    before = question_of(TODAY).mark
    change(job)
    assert question_of(TODAY).mark == before


def test_what_a_crew_finished_meanwhile_is_not_put_on_again(job: FenceJob) -> None:
    office = make_person(Role.OFFICE)
    ask_for_plan(actor=office, seconds=10, now=NOW)
    run_due_jobs(now=NOW)
    draft = PlanDraft.objects.get()
    assert any(one["phase"] == "hang" for one in draft.blocks)
    stood = list(CrewDay.objects.values_list("pk", "date", "hours"))
    finish(job, "hang")
    with pytest.raises(Refusal, match="The calendar has changed since this plan was worked out"):
        take_plan(draft=draft, actor=office, now=NOW)
    assert list(CrewDay.objects.values_list("pk", "date", "hours")) == stood


def test_plan_is_out_of_date_once_all_posts_are_set() -> None:
    """They end digging and setting, which the plan would put on again."""
    day = make_day()
    before = question_of(TODAY).mark
    day.hands_in(posts=PostTicks(all_set=True), day=DayEntry(pour_time=dt.time(15), mix="standard"))
    assert not day.job.phases.filter(kind__in=["dig", "set"], finished_on=None).exists()
    assert question_of(TODAY).mark != before
