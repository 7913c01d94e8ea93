"""Time off of single people: who is there, which hours count, what the calendar refuses."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from pytest_django import DjangoAssertNumQueries

from firm.errors import Refusal
from firm.models import AuditEntry, Role, User
from scheduling import mapping
from scheduling.models import Crew, CrewDay, CrewMember, MemberTimeOff
from scheduling.selectors import crews as selectors
from scheduling.selectors.planning import phase_hours, standing_plan
from scheduling.services import crews, time_off
from scheduling.services.placing import hours_wanted
from tests.cast import make_person
from tests.crew_cast import give_to_crew_of, make_full_job
from tests.factories import NOW, TODAY
from tests.job_cast import make_fence_job

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def owner() -> User:
    return make_person(Role.OWNER)


@pytest.fixture
def crew() -> Crew:
    return Crew.objects.create(name="North")


def member(crew: Crew, name: str, *, is_active: bool = True) -> CrewMember:
    return CrewMember.objects.create(crew=crew, name=name, is_active=is_active)


def off(one: CrewMember, first: dt.date, last: dt.date | None = None) -> MemberTimeOff:
    values = {"first_day": first, "last_day": last or first, "reason": "Dentist"}
    return time_off.add_time_off(actor=None, member=one, values=values, at=NOW)


def test_crew_goes_out_with_those_who_are_there(crew: Crew) -> None:
    ada, bo = member(crew, "Ada"), member(crew, "Bo")
    member(crew, "Cy", is_active=False)
    off(ada, TODAY, TODAY + DAY)
    off(bo, TODAY + DAY)
    facts = mapping.crew_of(crew, crew_size=5)
    assert facts.people == 2
    assert [facts.present_on(TODAY + DAY * count) for count in range(3)] == [1, 0, 2]
    assert [facts.works_on(TODAY + DAY * count) for count in range(3)] == [True, False, True]
    assert facts.off_words == {TODAY + DAY: "Nobody is there: Ada, Bo"}


def test_crew_that_names_nobody_is_never_off_because_all_are(crew: Crew) -> None:
    off(member(crew, "Gone", is_active=False), TODAY)
    facts = mapping.crew_of(crew, crew_size=3)
    assert (facts.people, facts.present_on(TODAY), facts.works_on(TODAY)) == (3, 3, True)
    assert facts.off_words == {}


@pytest.mark.parametrize(
    ("first", "last", "field", "words"),
    [
        (4, 9, "first_day", "Ada is off already from May 7, 2026 to May 9, 2026."),
        (8, 8, "first_day", "Ada is off already"),
        (20, 19, "last_day", "The last day comes before the first."),
        # May 20, 2026 to May 20, 2027 are 366 days, and one more.
        (20, 20 + 366, "last_day", "These are 367 days"),
    ],
)
def test_time_off_that_can_t_be_is_refused_at_its_field(
    crew: Crew, first: int, last: int, field: str, words: str
) -> None:
    ada = member(crew, "Ada")
    may = dt.date(2026, 4, 30)
    off(ada, may + 7 * DAY, may + 9 * DAY)
    with pytest.raises(Refusal, match=words) as caught:
        off(ada, may + first * DAY, may + last * DAY)
    assert caught.value.field == field
    assert MemberTimeOff.objects.count() == 1
    # Next to it, of another person, and a whole year are taken.
    off(ada, may + 10 * DAY)
    off(member(crew, "Bo"), may + 8 * DAY)
    off(ada, may + 20 * DAY, may + 385 * DAY)


def test_crew_s_days_off_last_a_year_at_the_most(crew: Crew, owner: User) -> None:
    values = {"first_day": TODAY, "last_day": dt.date(2199, 1, 1), "reason": ""}
    with pytest.raises(Refusal, match="up to 366 at a time") as caught:
        crews.add_days_off(actor=owner, crew=crew, values=values, at=NOW)
    assert caught.value.field == "last_day"


def test_time_off_may_move_over_itself_and_leaves_its_record(crew: Crew, owner: User) -> None:
    row = off(member(crew, "Ada"), TODAY, TODAY + 3 * DAY)
    values = {"first_day": TODAY + DAY, "last_day": TODAY + 5 * DAY, "reason": ""}
    time_off.change_time_off(actor=owner, time_off=row, values=values, at=NOW)
    time_off.drop_time_off(actor=owner, time_off=row, at=NOW)
    assert not MemberTimeOff.objects.exists()
    actions = AuditEntry.objects.filter(action__contains="time off").order_by("pk")
    assert [one.action for one in actions] == [
        *("added time off", "changed time off", "took time off away")
    ]


def test_database_keeps_no_time_off_that_ends_before_it_begins(crew: Crew) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        MemberTimeOff.objects.create(
            member=member(crew, "Ada"), first_day=TODAY, last_day=TODAY - DAY
        )


def test_hours_of_a_day_count_for_those_who_are_there(owner: User) -> None:
    block = give_to_crew_of(owner, make_fence_job(), on=TODAY)
    CrewDay.objects.filter(pk=block.pk).update(hours=Decimal(4))
    for name in ("Ada", "Bo", "Cy"):
        one = member(block.crew, name)
    assert block.crew.members.count() == 3

    def wanted() -> tuple[float, float]:
        plan = standing_plan(today=TODAY, also=[block.job_id])
        hours = hours_wanted(plan, block.job, plan.rows, TODAY)[str(block.crew_id)]
        placed = next(
            row.placed_h
            for row in phase_hours(plan, block.job, today=TODAY)
            if row.phase.pk == block.phase_id
        )
        return hours[plan.blocks[0].phase], placed

    block.phase.labor_hours = Decimal(36)
    block.phase.save()
    # 12 h of the crew are needed; 4 h stand there.
    assert wanted() == (8.0, 4.0)
    off(one, TODAY)
    # Two of three do 8 of the 36 labour hours in those 4 h: 28 / 3 are 9.33, in quarters 9.5.
    needed_h, placed_h = wanted()
    assert needed_h == 9.5
    assert placed_h == pytest.approx(8 / 3)


def test_planning_asks_the_same_however_many_are_off(
    owner: User, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    job = make_full_job(6, on=TODAY)
    block = give_to_crew_of(owner, job, on=TODAY)
    off(member(block.crew, "Ada"), TODAY)
    with CaptureQueriesContext(connection) as before:
        standing_plan(today=TODAY, also=[job.pk])
    for number in range(5):
        off(member(block.crew, f"Ada {number}"), TODAY, TODAY + number * DAY)
    with django_assert_num_queries(len(before)):
        standing_plan(today=TODAY, also=[job.pk])


def test_who_works_in_two_crews_is_away_in_both(crew: Crew) -> None:
    south = Crew.objects.create(name="South")
    off(member(crew, "Ada Quill"), TODAY)
    member(south, "ada quill ")
    # One name of two log-ins is two people.
    for each in (crew, south):
        other = member(each, "Bo")
        other.user = make_person(Role.CREW_LEAD, username=f"bo_{each.pk}")
        other.save()
    off(crew.members.get(name="Bo"), TODAY)
    for each, there in ((crew, 0), (south, 1)):
        facts = standing_plan(today=TODAY).facts.crews[str(each.pk)]
        assert (facts.people, facts.present_on(TODAY)) == (2, there)
    row = selectors.time_off_ahead(south.members.get(name="ada quill "), today=TODAY)[0]
    assert (row.member.crew, row.first_day) == (crew, TODAY)
    assert selectors.time_off_ahead(south.members.get(name="Bo"), today=TODAY) == []
