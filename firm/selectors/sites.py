"""Questions about job sites and their papers."""

from django.db.models import Q, QuerySet

from firm.models import Attachment, JobSite, User
from firm.selectors.reach import sites_within_reach


def sites_for(person: User) -> QuerySet[JobSite]:
    """Return the sites this person may see, with whose they are and where they lie."""
    return sites_within_reach(person).select_related("customer", "jurisdiction")


def sites_matching(person: User, words: str = "") -> QuerySet[JobSite]:
    """Return sites in whose address or customer every word is found, newest first."""
    found = sites_for(person)
    for word in words.split():
        found = found.filter(
            Q(street__icontains=word) | Q(city__icontains=word) | Q(customer__name__icontains=word)
        )
    return found


def attachments_for(person: User) -> QuerySet[Attachment]:
    """Return the papers this person may see, of sites within reach: signed ones carry prices."""
    papers = Attachment.objects.select_related("site")
    if person.sees_prices:
        return papers
    within = papers.filter(site__in=sites_within_reach(person))
    return within.exclude(kind=Attachment.Kind.SIGNED)
