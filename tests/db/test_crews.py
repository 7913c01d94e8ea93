"""Crews: names, hours, people and their cost, days off, machines."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from firm.errors import Refusal
from firm.models import AuditEntry, Role, User
from scheduling.models import Crew, CrewDaysOff, CrewMember, Machine
from scheduling.services import crews
from tests.cast import make_person
from tests.crew_cast import give_to_crew_of
from tests.factories import NOW, TODAY
from tests.job_cast import make_fence_job

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
CREW: dict[str, Any] = {
    "name": "North",
    "lead": None,
    "day_start": dt.time(7),
    "hours_per_day": Decimal(8),
    "weekdays": "01234",
    "is_active": True,
}


@pytest.fixture
def owner() -> User:
    return make_person(Role.OWNER)


@pytest.fixture
def crew(owner: User) -> Crew:
    return crews.add_crew(actor=owner, values=CREW, at=NOW)


def test_crew_is_added_with_its_record(owner: User, crew: Crew) -> None:
    entry = AuditEntry.objects.get(action="added a crew")
    assert (entry.actor, entry.target_id) == (owner, str(crew.pk))
    assert crew.working_days == "Mon, Tue, Wed, Thu, Fri"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"name": "North"}, "name"),
        ({"weekdays": ""}, "weekdays"),
        # From 17:00, 7.25 h end at 00:15.
        ({"day_start": dt.time(17), "hours_per_day": Decimal("7.25")}, "hours_per_day"),
    ],
)
def test_second_crew_is_refused(
    owner: User, crew: Crew, changes: dict[str, Any], field: str
) -> None:
    with pytest.raises(Refusal) as caught:
        crews.add_crew(actor=owner, values=CREW | {"name": "South"} | changes, at=NOW)
    assert caught.value.field == field
    assert Crew.objects.count() == 1


def test_day_may_end_at_midnight(owner: User) -> None:
    values = CREW | {"day_start": dt.time(17), "hours_per_day": Decimal(7)}
    assert crews.add_crew(actor=owner, values=values, at=NOW).pk


def test_office_leads_no_crew(owner: User) -> None:
    with pytest.raises(Refusal) as caught:
        crews.add_crew(actor=owner, values=CREW | {"lead": make_person(Role.OFFICE)}, at=NOW)
    assert caught.value.field == "lead"


def test_crew_with_days_ahead_stays_in_use(owner: User) -> None:
    block = give_to_crew_of(owner, make_fence_job(), on=TODAY)
    values = CREW | {"name": block.crew.name, "is_active": False}
    with pytest.raises(Refusal, match="1 day on the calendar") as caught:
        crews.change_crew(actor=owner, crew=block.crew, values=values, at=NOW)
    assert caught.value.field == "is_active"
    # NOW is 11:00 on May 4 in New York: the day after, nothing is ahead any more.
    changed = crews.change_crew(actor=owner, crew=block.crew, values=values, at=NOW + DAY)
    assert not changed.is_active


def test_only_the_owner_sets_what_an_hour_costs(owner: User, crew: Crew) -> None:
    office = make_person(Role.OFFICE)
    values = {"name": "Ada", "user": None, "is_active": True}
    member = crews.add_member(
        actor=owner, crew=crew, values=values | {"hourly_cost": Decimal("41.50")}, at=NOW
    )
    with pytest.raises(Refusal, match="Only the owner"):
        crews.change_member(
            actor=office, member=member, values=values | {"hourly_cost": Decimal(1)}, at=NOW
        )
    crews.change_member(actor=office, member=member, values=values | {"name": "Ada Linden"}, at=NOW)
    kept = CrewMember.objects.get()
    assert (kept.name, kept.hourly_cost) == ("Ada Linden", Decimal("41.50"))


def test_name_stands_once_in_a_crew(owner: User, crew: Crew) -> None:
    values = {"name": "Ada", "user": None, "is_active": True}
    crews.add_member(actor=owner, crew=crew, values=values, at=NOW)
    with pytest.raises(Refusal) as caught:
        crews.add_member(actor=owner, crew=crew, values=values, at=NOW)
    assert caught.value.field == "name"


@pytest.mark.parametrize(
    ("first", "last", "field"),
    [(12, 16, "first_day"), (1, 10, "first_day"), (11, 13, "first_day"), (20, 19, "last_day")],
    ids=["meets the last", "meets the first", "inside", "ends first"],
)
def test_days_off_neither_overlap_nor_end_before_they_begin(
    owner: User, crew: Crew, first: int, last: int, field: str
) -> None:
    off(owner, crew, 10, 14)
    with pytest.raises(Refusal) as caught:
        off(owner, crew, first, last)
    assert caught.value.field == field
    assert CrewDaysOff.objects.count() == 1


def test_days_off_next_to_others_and_of_other_crews_are_taken(owner: User, crew: Crew) -> None:
    off(owner, crew, 10, 14)
    off(owner, crew, 15, 15)
    off(owner, crews.add_crew(actor=owner, values=CREW | {"name": "South"}, at=NOW), 10, 14)
    assert CrewDaysOff.objects.count() == 3


def test_days_off_may_move_over_themselves(owner: User, crew: Crew) -> None:
    row = off(owner, crew, 10, 14)
    values = {"first_day": dt.date(2026, 6, 12), "last_day": dt.date(2026, 6, 18), "reason": ""}
    changed = crews.change_days_off(actor=owner, days_off=row, values=values, at=NOW)
    assert (changed.first_day.day, changed.last_day.day) == (12, 18)


def test_dropped_days_off_leave_their_record(owner: User, crew: Crew) -> None:
    crews.drop_days_off(actor=owner, days_off=off(owner, crew, 10, 14), at=NOW)
    assert not CrewDaysOff.objects.exists()
    entry = AuditEntry.objects.get(action="took days off away")
    assert entry.before["first_day"] == "2026-06-10"


def test_one_machine_for_each_way_of_digging(owner: User) -> None:
    values = {"name": "Skid-steer", "dig_method": "skid_steer", "owned": 1}
    machine = crews.add_machine(actor=owner, values=values, at=NOW)
    with pytest.raises(Refusal) as caught:
        crews.add_machine(actor=owner, values=values | {"name": "Second"}, at=NOW)
    assert caught.value.field == "name"
    crews.change_machine(actor=owner, machine=machine, values={"owned": 2}, at=NOW)
    assert Machine.objects.get().owned == 2
    # Any number of machines dig nothing: a mixer, a trailer.
    for name in ("Mixer", "Trailer"):
        crews.add_machine(actor=owner, values={"name": name, "dig_method": None}, at=NOW)


def off(actor: User, crew: Crew, first: int, last: int) -> CrewDaysOff:
    """Give a crew days off in June 2026."""
    values = {
        "first_day": dt.date(2026, 6, first),
        "last_day": dt.date(2026, 6, last),
        "reason": "Training",
    }
    return crews.add_days_off(actor=actor, crew=crew, values=values, at=NOW)
