"""When to call again for a locate ticket that ends before the planned digging is over."""

import datetime as dt
from collections.abc import Iterable

from firm.measure.locate import LocateRule, call_window, ticket_dates
from scheduling.engine.crew_days import rain_bar
from scheduling.engine.plan import CrewDay, Facts, JobFacts
from scheduling.engine.standing import State, Ticket
from scheduling.engine.wording import day_words

ONE_DAY = dt.timedelta(days=1)
# Rain is known for some days ahead: a dry working day is never farther.
FURTHEST = 60


def ticket_call(key: str, plan: Iterable[CrewDay], facts: Facts, rule: LocateRule) -> str:
    """Return by when a call still saves a job's planned digging, or nothing where none is needed.

    A day on which rain bars the digging counts as the crew's next dry day. The ticket's own dates
    and the one-call centre decide; this counts by the rule of the place.
    """
    job = facts.jobs[key]
    ticket = _longest(job)
    digs = [
        (one, _dry_day(one, facts))
        for one in plan
        if one.job == key
        and one.phase in job.digs
        and one.phase not in job.done
        and one.date >= facts.today
    ]
    if ticket is None or ticket.expires_on is None or not digs:
        return ""
    late = [(one, day) for one, day in digs if day > ticket.expires_on]
    if not late:
        return ""
    block, needed_on = min(late, key=lambda each: each[1])
    ends = f"Locate ticket {ticket.number}".strip() + f" ends on {day_words(ticket.expires_on)}"
    moved = " because of the rain" if needed_on != block.date else ""
    why = f"{job.name}: {ends}, and digging comes on {day_words(needed_on)}{moved}."
    last_on = call_window(rule, start_on=needed_on).last_on
    if last_on >= facts.today:
        return f"{why} Call again by {day_words(last_on)}: that still saves it."
    first = ticket_dates(rule, called_on=facts.today).clear_on
    return f"{why} A call today comes too late for that: dig from {day_words(first)} on."


def _longest(job: JobFacts) -> Ticket | None:
    """Return the cleared ticket that ends last."""
    cleared = [one for one in job.standing.tickets if one.state == State.CLEAR and one.expires_on]
    return max(cleared, key=lambda one: one.expires_on or dt.date.min, default=None)


def _dry_day(block: CrewDay, facts: Facts) -> dt.date:
    """Return the block's day, or where rain bars it the crew's next working day that is dry."""
    crew = facts.crews[block.crew]
    days = (block.date + ONE_DAY * count for count in range(1, FURTHEST))
    if not rain_bar(block.phase, block.date, facts):
        return block.date
    dry = (day for day in days if crew.works_on(day) and not rain_bar(block.phase, day, facts))
    return next(dry, block.date)
