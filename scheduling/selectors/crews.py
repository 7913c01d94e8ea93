"""Questions about crews and machines."""

import datetime as dt

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


def with_time_off_ahead(members: QuerySet[CrewMember], *, today: dt.date) -> QuerySet[CrewMember]:
    """Return people with their time off that is not over."""
    ahead = MemberTimeOff.objects.filter(last_day__gte=today)
    return members.prefetch_related(Prefetch("time_off", queryset=ahead))


def time_off_ahead(member: CrewMember, *, today: dt.date) -> QuerySet[MemberTimeOff]:
    """Return a person's time off that is not over."""
    return member.time_off.filter(last_day__gte=today)


def days_off_ahead(crew: Crew, *, today: dt.date) -> QuerySet[CrewDaysOff]:
    """Return a crew's days off that are not over."""
    return crew.days_off.filter(last_day__gte=today)


def machines() -> QuerySet[Machine]:
    """Return the machines by name."""
    return Machine.objects.order_by("name")


def blocks_in(crew: Crew, first_day: dt.date, last_day: dt.date) -> int:
    """Return how many blocks of the calendar a crew has from one day to another."""
    return crew.crew_days.filter(date__range=(first_day, last_day)).count()
