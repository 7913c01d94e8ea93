"""Skills: who has them, what asks for them, and what the calendar makes of it."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from firm.errors import Refusal
from firm.models import AuditEntry, Role, User
from scheduling import mapping
from scheduling.engine.plan import Phase
from scheduling.mapping import Asks
from scheduling.models import Crew, CrewMember, MemberTimeOff, PeopleAsked, Skill, SkillAsked
from scheduling.selectors.planning import standing_plan
from scheduling.services import skills
from scheduling.services.placing import place_job
from scheduling.services.planning import add_block
from tests.cast import make_person
from tests.crew_cast import make_full_job
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def owner() -> User:
    return make_person(Role.OWNER)


@pytest.fixture
def welding(owner: User) -> Skill:
    return skills.add_skill(actor=owner, name="Welding", at=NOW)


@pytest.fixture
def crew() -> Crew:
    found = Crew.objects.create(name="North", weekdays="0123456")
    for name in ("Ada", "Bo"):
        CrewMember.objects.create(crew=found, name=name)
    return found


def test_skill_stands_once_on_the_list_in_whatever_letters(owner: User, welding: Skill) -> None:
    with pytest.raises(Refusal, match="of this name already") as caught:
        skills.add_skill(actor=owner, name="WELDING", at=NOW)
    assert caught.value.field == "name"
    assert Skill.objects.count() == 1


def test_phase_asks_for_a_skill_once_and_it_stays_while_asked_for(
    owner: User, welding: Skill
) -> None:
    ask = {"actor": owner, "skill": welding, "phase": "gates", "at": NOW}
    row = skills.ask_for_skill(family="", **ask)  # type: ignore[arg-type]
    skills.ask_for_skill(family="fabric", **ask)  # type: ignore[arg-type]
    with pytest.raises(Refusal, match="asks for it already"), transaction.atomic():
        skills.ask_for_skill(family="", **ask)  # type: ignore[arg-type]
    with pytest.raises(IntegrityError), transaction.atomic():
        SkillAsked.objects.create(skill=welding, phase="dig", family="hedge")
    with pytest.raises(Refusal, match="Phases still ask for Welding"):
        skills.drop_skill(actor=owner, skill=welding, at=NOW)
    skills.stop_asking(actor=owner, asked=row, at=NOW)
    SkillAsked.objects.all().delete()
    skills.drop_skill(actor=owner, skill=welding, at=NOW)
    assert not Skill.objects.exists()
    assert AuditEntry.objects.filter(action="dropped a skill").exists()


def test_people_asked_for_are_kept_changed_and_taken_away(owner: User) -> None:
    skills.ask_for_people(actor=owner, people={"set": 3, "dig": 1, "hang": None}, at=NOW)
    assert [(row.phase, row.people) for row in PeopleAsked.objects.all()] == [("set", 3)]
    skills.ask_for_people(actor=owner, people={"set": 2, "dig": 2}, at=NOW)
    assert {row.phase: row.people for row in PeopleAsked.objects.all()} == {"set": 2, "dig": 2}
    skills.ask_for_people(actor=owner, people={"set": None, "dig": 1}, at=NOW)
    assert not PeopleAsked.objects.exists()
    for wrong in (1, 21):
        with pytest.raises(IntegrityError), transaction.atomic():
            PeopleAsked.objects.create(phase="set", people=wrong)


def test_family_of_the_fence_decides_what_is_asked() -> None:
    asks = Asks(skills=((Phase.HANG, "fabric", "Stretching"), (Phase.HANG, "", "Ladder")))
    assert asks.skills_for({"panel"}) == {Phase.HANG: frozenset({"Ladder"})}
    assert asks.skills_for({"panel", "fabric"}) == {Phase.HANG: frozenset({"Ladder", "Stretching"})}
    assert asks.skills_for(()) == {Phase.HANG: frozenset({"Ladder"})}


def test_skill_is_there_while_somebody_who_has_it_is(crew: Crew, welding: Skill) -> None:
    ada, bo = crew.members.order_by("name")
    skills.set_skills(actor=None, member=ada, skills=[welding], at=NOW)
    for member, day in ((ada, TODAY), (bo, TODAY + DAY)):
        MemberTimeOff.objects.create(member=member, first_day=day, last_day=day)
    facts = mapping.crew_of(crew, crew_size=3, with_skills=True)
    assert facts.skills == {"Welding"}
    assert facts.skills_away == {TODAY: {"Welding"}, TODAY + DAY: frozenset()}
    CrewMember.objects.filter(pk=ada.pk).update(is_active=False)
    assert not mapping.crew_of(Crew.objects.get(), crew_size=3, with_skills=True).skills


def test_job_goes_to_the_crew_that_can_and_is_refused_by_hand_to_another(
    owner: User, crew: Crew, welding: Skill
) -> None:
    job = make_full_job(6, on=TODAY)
    phase = job.phases.order_by("position").first()
    assert phase is not None
    kind = phase.get_kind_display()
    skills.ask_for_skill(actor=owner, skill=welding, phase=phase.kind, family="", at=NOW)
    with pytest.raises(Refusal, match="asks for Welding, which North does not have"):
        place_job(job=job, actor=owner, now=NOW)
    values: dict[str, Any] = {"hours": Decimal(1), "start": None, "air_f": None}
    with pytest.raises(Refusal, match="asks for Welding, which North does not have"):
        add_block(job=job, phase=phase, crew=crew, date=TODAY + DAY, actor=owner, now=NOW, **values)

    able = Crew.objects.create(name="South", weekdays="0123456")
    cy = CrewMember.objects.create(crew=able, name="Cy")
    skills.set_skills(actor=owner, member=cy, skills=[welding], at=NOW)
    facts = standing_plan(today=TODAY, also=[job.pk]).facts
    assert facts.jobs[str(job.pk)].skills == {Phase(phase.kind): {"Welding"}}
    assert facts.crews[str(able.pk)].skills == {"Welding"}
    placed = place_job(job=job, actor=owner, now=NOW)
    assert {row.crew for row in placed if row.phase == phase} == {able}, kind
