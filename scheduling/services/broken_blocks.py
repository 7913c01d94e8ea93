"""Writing down which blocks of the calendar an event lets stand no longer, and which stand again.

Rain that is forecast, somebody's time off, a holiday, another job that is to come first: none of
these moves a block by itself.
"""

import datetime as dt
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from django.utils import timezone

from firm.models import User
from scheduling.engine.breaches import Rule
from scheduling.selectors.cure_spans import plan_around
from scheduling.selectors.planning import Plan, violations_from
from scheduling.services.plan_changes import note_moves, note_waits, waits_of

ALL_RULES = frozenset(Rule)
# By job and by rule and block: the block in words for the row, and the rule's sentence.
Broken = Mapping[tuple[int, str], dict[str, Any]]


@contextmanager
def noting_broken_blocks(*, cause: str, actor: User | None, now: dt.datetime) -> Iterator[None]:
    """Write down which blocks from today on break a rule, or no longer, by what is done inside."""
    before = broken_in(_plan(now), now)
    yield
    note_broken(before, broken_in(_plan(now), now), cause=cause, actor=actor, now=now)


@contextmanager
def noting_blocks_and_waits(*, cause: str, actor: User | None, now: dt.datetime) -> Iterator[None]:
    """Write down, besides, which jobs' posts wait otherwise by what is done inside."""
    before = _plan(now)
    yield
    after = _plan(now)
    note_waits(waits_of(before), waits_of(after), cause=cause, actor=actor, now=now)
    note_broken(broken_in(before, now), broken_in(after, now), cause=cause, actor=actor, now=now)


def broken_in(plan: Plan, now: dt.datetime) -> Broken:
    """Return which blocks from today on break which rule, as a plan stands."""
    today = timezone.localdate(now)
    found: dict[tuple[int, str], dict[str, Any]] = {}
    for one in violations_from(plan, today):
        for block in one.blocks:
            if block.date >= today:
                found[int(block.job), f"{one.rule}:{block.key}"] = {
                    "rule": one.rule.value,
                    "block": int(block.key),
                    "phase": block.phase.value,
                    "day": block.date.isoformat(),
                    "said": one.sentence,
                }
    return found


def note_broken(
    before: Broken,
    after: Broken,
    *,
    cause: str,
    actor: User | None,
    now: dt.datetime,
    rules: Collection[str] = ALL_RULES,
) -> None:
    """Write down what breaks one of these rules now, or otherwise, and what breaks it no longer."""
    moves: dict[int, list[dict[str, Any]]] = {}
    for at in sorted(before.keys() | after.keys()):
        job, what = at
        row = after.get(at) or before[at]
        was, is_now = (each.get(at, {}).get("said") for each in (before, after))
        if was != is_now and row["rule"] in rules:
            kept = {name: row[name] for name in ("block", "phase", "day")}
            moves.setdefault(job, []).append({"what": what, **kept, "before": was, "after": is_now})
    note_moves(moves, cause=cause, actor=actor, now=now)


def _plan(now: dt.datetime) -> Plan:
    today = timezone.localdate(now)
    return plan_around(today, today, now=now)
