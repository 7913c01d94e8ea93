"""Making, revoking and noting the readings of calendar feeds."""

import datetime as dt
import secrets

from django.db import transaction
from django.db.models import Q

from firm.errors import Refusal
from firm.models import Role, User
from firm.services.saving import add_row, change_row
from scheduling.models import CalendarFeed, Crew
from scheduling.selectors.reach import crews_within_reach

TOKEN_BYTES = 32
START_SHOWN = 6
AN_HOUR = dt.timedelta(hours=1)


def make_feed(*, actor: User, crew: Crew | None, now: dt.datetime) -> tuple[CalendarFeed, str]:
    """Make a feed, and return it with its token, which is nowhere else.

    Raises:
        Refusal: a crew lead asks for a crew that is not the own one.
    """
    if actor.role == Role.CREW_LEAD and (
        crew is None or not crews_within_reach(actor).filter(pk=crew.pk).exists()
    ):
        raise Refusal("Choose a crew of yours.", field="crew")
    token = secrets.token_urlsafe(TOKEN_BYTES)
    feed = CalendarFeed(
        crew=crew,
        token_sha256=CalendarFeed.digest_of(token),
        token_start=token[:START_SHOWN],
        made_by=actor,
        made_at=now,
    )
    return add_row(feed, actor=actor, action="made a calendar feed", at=now), token


def revoke_feed(*, actor: User, feed: CalendarFeed, now: dt.datetime) -> CalendarFeed:
    """End a feed: its address is unknown from now on."""
    return change_row(
        feed, changes={"revoked_at": now}, actor=actor, action="revoked a calendar feed", at=now
    )


@transaction.atomic
def note_feed_reading(*, feed: CalendarFeed, now: dt.datetime) -> None:
    """Write down that a feed is read, at most once an hour: calendars ask again and again."""
    unread = Q(last_read_at__isnull=True) | Q(last_read_at__lte=now - AN_HOUR)
    CalendarFeed.objects.filter(unread, pk=feed.pk).update(last_read_at=now)
