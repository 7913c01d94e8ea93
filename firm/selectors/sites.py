"""Questions about job sites and their papers."""

from django.db.models import Q, QuerySet

from firm.models import Attachment, JobSite, User


def sites_matching(words: str = "") -> QuerySet[JobSite]:
    """Return sites in whose address or customer every word is found, newest first."""
    found = JobSite.objects.select_related("customer", "jurisdiction")
    for word in words.split():
        found = found.filter(
            Q(street__icontains=word) | Q(city__icontains=word) | Q(customer__name__icontains=word)
        )
    return found


def attachments_for(person: User) -> QuerySet[Attachment]:
    """Return the papers this person may see: signed ones carry prices."""
    papers = Attachment.objects.select_related("site")
    return papers if person.sees_prices else papers.exclude(kind=Attachment.Kind.SIGNED)
