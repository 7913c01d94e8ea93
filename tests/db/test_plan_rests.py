"""A rest of a phase that stands by hand: worth another visit by every crew, or by none."""

from decimal import Decimal

import pytest

from firm.models import Role
from firm.services.jobs import run_due_jobs
from scheduling.models import Crew, CrewDay, CrewMember, FenceJob, PlanDraft
from scheduling.services.plan_drafts import ask_for_plan
from scheduling.services.plan_questions import question_of
from tests.cast import make_person
from tests.crew_cast import make_full_job, make_red_crew, may, put_on
from tests.factories import NOW, TODAY, make_firm

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(db: None) -> FenceJob:
    """Return a job that three people hang on May 11 for 2.25 h, which a person has fixed.

    Beside them the firm has a crew of two.
    """
    make_firm()
    make_red_crew()
    three = Crew.objects.create(name="Green crew")
    for name in ("Ada", "Bo", "Cy"):
        CrewMember.objects.create(crew=three, name=name)
    found = make_full_job(1001, on=TODAY)
    put_on(found, "hang", three, may(11), hours="2.25")
    CrewDay.objects.update(is_pinned=True)
    return found


@pytest.mark.parametrize(
    ("sold_h", "wanted"),
    [
        # 7.5 h less 3 x 2.25 h is 0.75 h: a quarter hour of the three, who do it while they are
        # there; that two take up to half an hour for it sends nobody either.
        ("7.5", {0.0}),
        # 8.25 h less 6.75 h is 1.5 h: half an hour of the three, three quarters of the two.
        ("8.25", {0.5, 0.75}),
    ],
)
def test_rest_is_worth_a_visit_by_every_crew_or_by_none(
    job: FenceJob, sold_h: str, wanted: set[float]
) -> None:
    job.phases.filter(kind="hang").update(labor_hours=Decimal(sold_h))
    (asked,) = question_of(TODAY).asked.jobs
    assert {hours["hang"] for hours in asked.hours.values()} == wanted  # type: ignore[index]
    ask_for_plan(actor=make_person(Role.OFFICE), seconds=10, now=NOW)
    run_due_jobs(now=NOW)
    draft = PlanDraft.objects.get()
    assert draft.state == PlanDraft.State.READY
    assert any(one["phase"] == "hang" for one in draft.blocks) == (0.0 not in wanted)
