"""The waits of concrete that reach into some days, and what no longer fits on these days."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.utils import timezone

from scheduling.engine.air import UNKNOWN_AIR_F
from scheduling.engine.breaches import Violation
from scheduling.engine.maturity import MOST_HOURS
from scheduling.engine.wording import later_words
from scheduling.models import DayReport, FenceJob, JobPhase
from scheduling.selectors.planning import (
    CureSpan,
    Plan,
    cure_spans,
    cure_table,
    standing_plan,
    violations_from,
)

ONE_DAY = dt.timedelta(days=1)
HANGING = (JobPhase.Kind.HANG, JobPhase.Kind.GATES)


@dataclass(frozen=True, kw_only=True, slots=True)
class SpanWords:
    """A wait in few words, 'panels from Fri 14:00', and in a sentence."""

    from_at: dt.datetime
    ready_at: dt.datetime | None
    words: str
    sentence: str


@dataclass(frozen=True, kw_only=True, slots=True)
class JobSpans:
    """A job and its waits."""

    job: FenceJob
    spans: list[SpanWords]


def plan_around(first: dt.date, last: dt.date, *, now: dt.datetime) -> Plan:
    """Return the plan with every job whose concrete may still be hardening on these days."""
    longest_h = cure_table().longest_h(UNKNOWN_AIR_F)
    from_day = first - dt.timedelta(hours=longest_h) - ONE_DAY
    # In the cold a pour may wait far longer, if anything is left to hang on it.
    poured = DayReport.objects.filter(
        poured_at__isnull=False,
        date__range=(first - dt.timedelta(hours=MOST_HOURS), last),
        job__phases__kind__in=HANGING,
        job__phases__finished_on__isnull=True,
    )
    return standing_plan(
        today=timezone.localdate(now),
        from_day=from_day,
        also=poured.values_list("job", flat=True),
    )


def spans_reaching(
    plan: Plan, first: dt.date, last: dt.date, *, also: Iterable[int]
) -> list[JobSpans]:
    """Return the jobs with a wait between two days, and those in `also`, in order of number."""
    waits = {int(key): _between(cure_spans(plan, int(key)), first, last) for key in plan.facts.jobs}
    asked = set(also) | {key for key, spans in waits.items() if spans}
    jobs = FenceJob.objects.filter(pk__in=asked).select_related("customer", "site")
    return [JobSpans(job=job, spans=waits.get(job.pk, [])) for job in jobs.order_by("number", "pk")]


def misfits(plan: Plan, first: dt.date, last: dt.date, *, now: dt.datetime) -> list[Violation]:
    """Return what is wrong now with blocks of these days, past days left out."""
    found = violations_from(plan, timezone.localdate(now))
    return [one for one in found if any(first <= block.date <= last for block in one.blocks)]


def blocks_of(found: Iterable[Violation], today: dt.date) -> frozenset[int]:
    """Return the rows of the calendar, from today on, in which something is wrong."""
    blocks = (block for one in found for block in one.blocks)
    return frozenset(int(one.key) for one in blocks if one.key and one.date >= today)


def _between(spans: Iterable[CureSpan], first: dt.date, last: dt.date) -> list[SpanWords]:
    found = []
    for span in spans:
        begins_on = timezone.localdate(span.starts_at)
        ends_on = timezone.localdate(span.ready_at) if span.ready_at else None
        if begins_on <= last and (ends_on is None or ends_on >= first):
            found.append(_worded(span))
    return found


def _worded(span: CureSpan) -> SpanWords:
    if span.ready_at is None:
        words = f"{span.work}: not to hang for now"
    else:
        words = f"{span.work} from {later_words(span.ready_at, since=span.starts_at)}"
    return SpanWords(
        from_at=span.starts_at,
        ready_at=span.ready_at,
        words=words,
        sentence=span.sentence,
    )
