"""Questions about crews and machines."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Prefetch, QuerySet

from scheduling.models import Crew, CrewDaysOff, CrewMember, Machine, MemberTimeOff


def all_crews() -> QuerySet[Crew]:
    """Return the crews with their lead and their people, those in use first."""
    members = CrewMember.objects.filter(is_active=True).defer("hourly_cost")
    return (
        Crew.objects.select_related("lead")
        .prefetch_related(Prefetch("members", queryset=members))
        .order_by("-is_active", "name")
    )


def members_of(crew: Crew) -> QuerySet[CrewMember]:
    """Return a crew's people, those who work in it first."""
    return crew.members.select_related("user").order_by("-is_active", "name")


@dataclass(frozen=True, kw_only=True, slots=True)
class MemberAhead:
    """A person of a crew with the time off that is not over."""

    member: CrewMember
    ahead: list[MemberTimeOff]


def with_time_off_ahead(members: Iterable[CrewMember], *, today: dt.date) -> list[MemberAhead]:
    """Return people with their time off that is not over, in whichever crew it was written down."""
    rows = list(_ahead(today))
    return [MemberAhead(member=one, ahead=_of_person(one, rows)) for one in members]


def time_off_ahead(member: CrewMember, *, today: dt.date) -> list[MemberTimeOff]:
    """Return a person's time off that is not over, in whichever crew it was written down."""
    return _of_person(member, _ahead(today))


def _ahead(today: dt.date) -> QuerySet[MemberTimeOff]:
    rows = MemberTimeOff.objects.filter(last_day__gte=today)
    return rows.select_related("member__crew").order_by("first_day", "pk")


def _of_person(member: CrewMember, rows: Iterable[MemberTimeOff]) -> list[MemberTimeOff]:
    return [row for row in rows if row.member_id == member.pk or row.member.is_same_person(member)]


def days_off_ahead(crew: Crew, *, today: dt.date) -> QuerySet[CrewDaysOff]:
    """Return a crew's days off that are not over."""
    return crew.days_off.filter(last_day__gte=today)


def machines() -> QuerySet[Machine]:
    """Return the machines by name."""
    return Machine.objects.order_by("name")


def blocks_in(crew: Crew, first_day: dt.date, last_day: dt.date) -> int:
    """Return how many blocks of the calendar a crew has from one day to another."""
    return crew.crew_days.filter(date__range=(first_day, last_day)).count()
