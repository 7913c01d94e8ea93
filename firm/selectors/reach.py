"""Which job sites lie within a person's reach: all for the office, a crew lead's own work.

Whose work a site is, only the apps above know: they register how they tell. What is out of
reach does not exist for the asker.
"""

from collections.abc import Callable
from typing import Any

from django.db.models import Q, QuerySet

from firm.models import JobSite, Role, User

SitesOfWork = Callable[[User], "QuerySet[Any, Any]"]
_ways: list[SitesOfWork] = []


def sites_are_reached_by(way: SitesOfWork) -> None:
    """Register, in an app's `tasks` module, what returns the keys of sites a crew lead works at."""
    if way not in _ways:
        _ways.append(way)


def sites_within_reach(person: User) -> QuerySet[JobSite]:
    """Return the sites a person may see."""
    sites = JobSite.objects.all()
    if person.role != Role.CREW_LEAD:
        return sites
    reached = Q(pk__in=[])
    for way in _ways:
        reached |= Q(pk__in=way(person))
    return sites.filter(reached)
