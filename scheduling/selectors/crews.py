"""Questions about crews and machines."""

import datetime as dt

from django.db.models import Prefetch, QuerySet

from scheduling.models import Crew, CrewDaysOff, CrewMember, Machine


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


def days_off_ahead(crew: Crew, *, today: dt.date) -> QuerySet[CrewDaysOff]:
    """Return a crew's days off that are not over."""
    return crew.days_off.filter(last_day__gte=today)


def machines() -> QuerySet[Machine]:
    """Return the machines by name."""
    return Machine.objects.order_by("name")


def blocks_in(days_off: CrewDaysOff) -> int:
    """Return how many blocks of the calendar stand in a crew's days off."""
    return days_off.crew.crew_days.filter(
        date__range=(days_off.first_day, days_off.last_day)
    ).count()
