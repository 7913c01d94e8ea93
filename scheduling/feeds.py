"""Crews' days as iCalendar (RFC 5545), for calendars elsewhere to read.

It leaves the house: no price, no customer's name or phone, no note, in which a gate code may stand.
"""

import datetime as dt
from collections.abc import Sequence

from django.utils import timezone
from django.utils.translation import gettext as _
from icalendar import Calendar, Event

from firm.measure.said import ENGLISH
from firm.selectors.languages import speaking, spoken
from scheduling.engine.plan import Timed, timed
from scheduling.models import Crew, CrewDay, FenceJob
from scheduling.selectors.planning import standing_plan

DAYS_BACK = 30
DAYS_AHEAD = 120
PRODUCT = "-//Firm Footing//Crew days//EN"
A_DAY = dt.timedelta(days=1)


def crew_days_ics(*, crew: Crew | None, host: str, now: dt.datetime) -> bytes:
    """Return the days of a crew in its language, or of all, a month back to four months ahead."""
    today = timezone.localdate(now)
    first, last = today - DAYS_BACK * A_DAY, today + DAYS_AHEAD * A_DAY
    plan = standing_plan(today=today, from_day=first)
    # A day's blocks are put on the clock together: one begins where another ends.
    on_the_clock = timed(plan.blocks, plan.facts)
    shown = [
        (row, one)
        for row, one in zip(plan.rows, on_the_clock, strict=True)
        if first <= row.date <= last and (crew is None or row.crew_id == crew.pk)
    ]
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    with speaking(crew.language if crew else ENGLISH):
        name = _("{crew}: crew days").format(crew=crew.name) if crew else _("All crews")
        calendar.add("x-wr-calname", name)
        for event in _events(shown, host=host):
            calendar.add_component(event)
    return bytes(calendar.to_ical())


def _events(shown: Sequence[tuple[CrewDay, Timed]], *, host: str) -> list[Event]:
    jobs = FenceJob.objects.select_related("site").in_bulk({row.job_id for row, _ in shown})
    return [_event(row, one, jobs[row.job_id], host=host) for row, one in shown]


def _event(row: CrewDay, one: Timed, job: FenceJob, *, host: str) -> Event:
    event = Event()
    event.add("uid", f"crew-day-{row.pk}@{host}")
    # Without METHOD, DTSTAMP is when what is said was last revised (RFC 5545, 3.8.7.2).
    event.add("dtstamp", row.placed_at.astimezone(dt.UTC))
    event.add("last-modified", row.placed_at.astimezone(dt.UTC))
    event.add("dtstart", one.starts_at.astimezone(dt.UTC))
    event.add("dtend", one.ends_at.astimezone(dt.UTC))
    phase = spoken(row.phase.get_kind_display())
    event.add("summary", f"{spoken(job.said)}: {phase[:1].lower()}{phase[1:]}")
    if job.site:
        event.add("location", ", ".join(part for part in (job.site.street, job.site.city) if part))
    event.add("description", _description(row))
    return event


def _description(row: CrewDay) -> str:
    hours = f"{row.hours.normalize():f}"
    lines = [row.crew.name, _("{hours} h on the clock").format(hours=hours)]
    if row.machine:
        lines.append(_("Machine: {name}").format(name=row.machine.name))
    return "\n".join(lines)
