"""How many posts, and bags for them, each day of a job's digging or setting is meant for.

A phase of several days is shared out by its hours: a plan for loading, no count.
"""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Count

from scheduling.models import CrewDay, JobPhase, PostRecord

DIG, SET = JobPhase.Kind.DIG, JobPhase.Kind.SET


@dataclass(frozen=True, kw_only=True, slots=True)
class PostShare:
    """The posts of a day out of all of the job's, and the bags they take."""

    posts: int
    of: int
    bags: int

    @property
    def is_part(self) -> bool:
        """Say whether other days have posts of their own."""
        return self.posts < self.of


@dataclass(frozen=True, kw_only=True, slots=True)
class PostShares:
    """The days of jobs' digging and setting, and how many posts stand in them already."""

    rows: Mapping[tuple[int, str], Sequence[CrewDay]]
    stand: Mapping[int, int]
    today: dt.date

    def of_day(
        self, job: int, crew: int, date: dt.date, *, kind: str, posts: int, bags: int
    ) -> PostShare | None:
        """Return a day's share of a phase; None of a day that lies behind.

        What stands already is shared out no more: it took its part of the bags.
        """
        if date < self.today:
            return None
        rows = self.rows.get((job, kind), ())
        left = posts
        if kind == SET:
            rows = [row for row in rows if row.date >= self.today]
            left = max(0, posts - self.stand.get(job, 0))
        before = sum(row.hours for row in rows if (row.date, row.crew_id) < (date, crew))
        mine = sum(row.hours for row in rows if (row.date, row.crew_id) == (date, crew))
        total = sum(row.hours for row in rows)
        if not mine or not posts:
            return None
        # Rounded along the way, so that the days together have neither more nor fewer.
        first, last = (round(left * hours / total) for hours in (before, before + mine))
        done = posts - left
        bags_of = [round(bags * (done + count) / posts) for count in (first, last)]
        return PostShare(posts=last - first, of=posts, bags=bags_of[1] - bags_of[0])


def post_shares(jobs: Collection[int], *, today: dt.date) -> PostShares:
    """Return what the posts of some jobs are shared out by; two queries."""
    rows: dict[tuple[int, str], list[CrewDay]] = {}
    days = CrewDay.objects.filter(job__in=jobs, phase__kind__in=[DIG, SET])
    for row in days.select_related("phase").order_by("date", "crew", "pk"):
        rows.setdefault((row.job_id, row.phase.kind), []).append(row)
    stand = PostRecord.objects.filter(job__in=jobs, set_at__isnull=False).order_by()
    counts = stand.values_list("job").annotate(count=Count("pk"))
    return PostShares(rows=rows, stand=dict(counts), today=today)
