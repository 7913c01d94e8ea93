"""Writing down what an event moves that nobody of the office moved, and that it was seen.

What one cause moves again before it was seen is one change: from where it stood first to where it
stands now; gone back, it is none.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import transaction
from django.utils import timezone

from firm.models import User
from scheduling.models import CrewDay, PlanChange
from scheduling.selectors.planning import CureSpan, Plan, cure_spans

Move = dict[str, Any]
Waits = Mapping[int, Mapping[str, CureSpan]]
A_MINUTE = dt.timedelta(minutes=1)


def waits_of(plan: Plan) -> Waits:
    """Return before when nothing hangs, by job and work, as a plan stands."""
    return {
        int(key): {span.work: span for span in cure_spans(plan, int(key))}
        for key in plan.facts.jobs
    }


@transaction.atomic
def note_waits(
    before: Waits,
    after: Waits,
    *,
    cause: str,
    actor: User | None,
    now: dt.datetime,
    why: str = "",
) -> None:
    """Write down for which jobs something may hang at another hour than before, and why."""
    for job, spans in after.items():
        stood = before.get(job, {})
        moved = [span for work, span in spans.items() if _is_moved(stood.get(work), span)]
        if moved:
            moves = [_wait_move(stood.get(span.work), span) for span in moved]
            _note(job, moves, cause=cause, why=why, actor=actor, now=now)


@transaction.atomic
def note_days(
    before: Sequence[CrewDay],
    after: Sequence[CrewDay],
    *,
    cause: str,
    why: str,
    actor: User | None,
    now: dt.datetime,
) -> None:
    """Write down which phases stand on other days than before; the rows name their phases."""
    stood, stands = _days_of(before, now), _days_of(after, now)
    moves: dict[int, list[Move]] = {}
    for at in sorted(stood.keys() | stands.keys()):
        if (was := stood.get(at, [])) != (now_on := stands.get(at, [])):
            job, phase = at
            moves.setdefault(job, []).append({"phase": phase, "before": was, "after": now_on})
    note_moves(moves, cause=cause, why=why, actor=actor, now=now)


@transaction.atomic
def note_moves(
    moves: Mapping[int, Sequence[Move]],
    *,
    cause: str,
    actor: User | None,
    now: dt.datetime,
    why: str = "",
) -> None:
    """Write down what one event moved, by job."""
    for job, mine in moves.items():
        _note(job, mine, cause=cause, why=why, actor=actor, now=now)


@transaction.atomic
def tick_seen(
    *, changes: Iterable[int] | None = None, as_of: dt.datetime, actor: User, now: dt.datetime
) -> int:
    """Write down that changes were seen, all where none are named; return how many.

    What moved again after the page was drawn, at `as_of`, stays unseen.
    """
    rows = PlanChange.objects.filter(seen_at__isnull=True, made_at__lte=as_of)
    if changes is not None:
        rows = rows.filter(pk__in=changes)
    return rows.update(seen_by=actor, seen_at=now)


def _is_moved(before: CureSpan | None, after: CureSpan) -> bool:
    was = before.ready_at if before else None
    if was is None or after.ready_at is None:
        return was != after.ready_at
    return abs(after.ready_at - was) >= A_MINUTE


def _wait_move(before: CureSpan | None, after: CureSpan) -> Move:
    was = before.ready_at if before else None
    return {
        "work": after.work,
        "before": was.isoformat() if was else None,
        "after": after.ready_at.isoformat() if after.ready_at else None,
        "pour_before": before.starts_at.isoformat() if before else None,
        "pour_after": after.starts_at.isoformat(),
        "is_poured": after.is_poured,
        "sentence": after.sentence,
    }


def _days_of(rows: Iterable[CrewDay], now: dt.datetime) -> dict[tuple[int, str], list[str]]:
    today = timezone.localdate(now)
    found: dict[tuple[int, str], set[str]] = {}
    for row in rows:
        if row.date >= today:
            found.setdefault((row.job_id, row.phase.kind), set()).add(row.date.isoformat())
    return {at: sorted(days) for at, days in found.items()}


def _note(
    job: int,
    moves: Sequence[Move],
    *,
    cause: str,
    why: str,
    actor: User | None,
    now: dt.datetime,
) -> None:
    unseen = PlanChange.objects.select_for_update().filter(
        job=job, cause=cause, seen_at__isnull=True
    )
    first = unseen.first()
    merged = _merged(first.moves if first else [], moves)
    if not merged:
        unseen.delete()
        return
    values = {"moves": merged, "why": why, "made_by": actor, "made_at": now}
    if first is None:
        PlanChange.objects.create(job_id=job, cause=cause, **values)
    else:
        unseen.update(**values)


def _merged(first: Sequence[Move], then: Sequence[Move]) -> list[Move]:
    """Return moves that follow one another as one of each thing, without those that went back."""
    found = {_thing(one): one for one in first}
    for one in then:
        was = found.get(_thing(one), one)
        kept = {name: was[name] for name in ("before", "pour_before") if name in was}
        found[_thing(one)] = one | kept
    return [one for one in found.values() if one["before"] != one["after"]]


def _thing(move: Move) -> str:
    return str(move.get("what") or move.get("work") or move["phase"])
