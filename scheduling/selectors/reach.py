"""What lies within a person's reach: all of it for the office, a crew lead's own crews' days.

Every page of this app asks here; what is out of reach does not exist for the asker (404).
"""

from django.db.models import Q, QuerySet

from firm.models import Role, User
from scheduling.models import Crew, CrewDay, FenceJob


def crews_within_reach(person: User) -> QuerySet[Crew]:
    """Return the crews a person may see: a crew lead those they lead or belong to."""
    crews = Crew.objects.all()
    if person.role != Role.CREW_LEAD:
        return crews
    return crews.filter(
        Q(lead=person) | Q(members__user=person, members__is_active=True)
    ).distinct()


def is_within_reach(crew: Crew, person: User) -> bool:
    """Say the same of one crew whose members are read anyway, without asking the database."""
    return (
        person.role != Role.CREW_LEAD
        or crew.lead_id == person.pk
        or any(member.user_id == person.pk and member.is_active for member in crew.members.all())
    )


def crew_days_within_reach(person: User) -> QuerySet[CrewDay]:
    """Return the blocks of the calendar a person may see."""
    days = CrewDay.objects.all()
    if person.role != Role.CREW_LEAD:
        return days
    return days.filter(crew__in=crews_within_reach(person))


def jobs_within_reach(person: User) -> QuerySet[FenceJob]:
    """Return the jobs a person may see: a crew lead those a crew of theirs is or was at."""
    jobs = FenceJob.objects.all()
    if person.role != Role.CREW_LEAD:
        return jobs
    crews = crews_within_reach(person)
    return jobs.filter(Q(crew_days__crew__in=crews) | Q(reports__crew__in=crews)).distinct()


def keys_of_sites_within_reach(person: User) -> "QuerySet[FenceJob, int | None]":
    """Return the keys of the sites where the jobs within reach are built."""
    return jobs_within_reach(person).filter(site__isnull=False).values_list("site", flat=True)
