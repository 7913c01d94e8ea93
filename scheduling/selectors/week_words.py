"""What the week says beside the work: rain of days, the crews' drive, tickets to call for again."""

import datetime as dt

from firm.selectors.clearances import locate_rule
from scheduling.engine.crew_days import PHASE_NAMES
from scheduling.engine.driving import day_drive_h
from scheduling.engine.plan import Facts, timed
from scheduling.engine.ticket_call import ticket_call
from scheduling.engine.wording import list_words, minutes_words, rain_amount
from scheduling.models import FenceJob
from scheduling.selectors.planning import Plan


def rain_words(facts: Facts, day: dt.date) -> str:
    """Return the rain of a day and what it bars, or nothing of a day without any."""
    rain_in = facts.wet_days.get(day, 0.0)
    if not rain_in:
        return ""
    amount = rain_amount(rain_in, is_metric=facts.is_metric)
    barred = [
        PHASE_NAMES[phase] for phase, limit_in in facts.rain_limit_in.items() if rain_in > limit_in
    ]
    return f"Rain, {amount}: no {list_words(barred)}" if barred else f"Rain, {amount}"


def drive_words(plan: Plan) -> dict[tuple[int, dt.date], str]:
    """Return how long each crew drives on each day, from the yard and home, in words."""
    facts = plan.facts
    days: dict[tuple[int, dt.date], list[str]] = {}
    for one in sorted(timed(plan.blocks, facts), key=lambda each: each.starts_at):
        days.setdefault((int(one.block.crew), one.block.date), []).append(one.block.job)
    found = {}
    for key, jobs in days.items():
        hours = day_drive_h([facts.jobs[job].place for job in jobs], facts.yard, facts.road)
        if hours:
            found[key] = f"{minutes_words(hours)} on the road"
    return found


def ticket_calls(plan: Plan, rows: dict[int, FenceJob]) -> list[str]:
    """Return in sentences which of these jobs' tickets must be called for again, and by when."""
    found = []
    for pk, job in rows.items():
        if job.site is None or job.site.jurisdiction is None or str(pk) not in plan.facts.jobs:
            continue
        rule = locate_rule(job.site.jurisdiction)
        found.append(ticket_call(str(pk), plan.blocks, plan.facts, rule))
    return [words for words in found if words]
