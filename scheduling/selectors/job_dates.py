"""The customers' days: which jobs wait for which, and whether the plan keeps what was promised."""

import datetime as dt
from collections.abc import Iterable, Mapping

from scheduling.engine.plan import Facts, Timed
from scheduling.engine.wording import day_words
from scheduling.models import FenceJob, JobDates

DAY = dt.timedelta(days=1)


def dates_of_open_jobs() -> dict[int, JobDates]:
    """Return what is written down of jobs still to be done, by job, in one query."""
    rows = JobDates.objects.filter(job__state=FenceJob.State.TO_DO).select_related("after_job")
    return {row.job_id: row for row in rows}


def waited_for(row: JobDates) -> int | None:
    """Return the job that another waits for, None where it waits for none that is open."""
    first = row.after_job
    return first.pk if first is not None and first.state == FenceJob.State.TO_DO else None


def with_jobs_before(jobs: Iterable[int], dates: Mapping[int, JobDates]) -> set[int]:
    """Return jobs with those they wait for, and those these wait for in turn."""
    found: set[int] = set()
    left = list(jobs)
    while left:
        job = left.pop()
        if job in found:
            continue
        found.add(job)
        first = waited_for(dates[job]) if job in dates else None
        left += [] if first is None else [first]
    return found


def promise_words(key: str, blocks: Iterable[Timed], facts: Facts) -> str:
    """Return whether the plan keeps what a job's customer was promised, or nothing."""
    job = facts.jobs[key]
    if job.due_on is None or job.is_over:
        return ""
    promise = "Promised for" if job.due_on == job.promised_on else "Wanted by"
    words = f"{promise} {day_words(job.due_on)}"
    mine = [one for one in blocks if one.block.job == key]
    missing = {one for one in job.phases if one not in job.done} - {one.block.phase for one in mine}
    if missing:
        return f"{words}: not all of the work is on the calendar yet."
    ends_on = max(one.ends_at for one in mine).date()
    late = (ends_on - job.due_on) // DAY
    if late <= 0:
        return f"{words}: the plan ends on {day_words(ends_on)} and keeps it."
    days = "1 day" if late == 1 else f"{late} days"
    return f"{words}: the plan ends on {day_words(ends_on)}, {days} too late."
