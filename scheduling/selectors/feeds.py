"""Questions about calendar feeds."""

from django.db.models import QuerySet

from firm.models import Role, User
from scheduling.models import CalendarFeed
from scheduling.selectors.reach import crews_within_reach


def feeds_within_reach(person: User) -> QuerySet[CalendarFeed]:
    """Return the feeds that are read: a crew lead's those of the own crews."""
    feeds = CalendarFeed.objects.filter(revoked_at__isnull=True).select_related("crew", "made_by")
    if person.role != Role.CREW_LEAD:
        return feeds
    return feeds.filter(crew__in=crews_within_reach(person))


def feed_at(token: str) -> CalendarFeed | None:
    """Return the feed of a token, while its maker may still see what it shows."""
    feed = (
        CalendarFeed.objects.filter(
            token_sha256=CalendarFeed.digest_of(token),
            revoked_at__isnull=True,
            made_by__is_active=True,
        )
        .select_related("crew", "made_by")
        .first()
    )
    if feed is None or feed.made_by is None:
        return None
    if feed.made_by.role != Role.CREW_LEAD:
        return feed
    return feed if feed.crew in crews_within_reach(feed.made_by) else None
