"""Writing a plan that was worked out anew over the rows of the calendar it came from."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from firm.models import User
from firm.services.saving import add_row, change_row
from scheduling.engine.plan import CrewDay as Block
from scheduling.engine.shifting import Fate, Shifted
from scheduling.models import Crew, CrewDay, JobPhase
from scheduling.services.calendar_rows import remove_blocks

ACTION = "moved a block after a rain-out"
Name = tuple[str, str, str, dt.date]
Place = tuple[str, dt.date]


def write_shifted(
    shifted: Sequence[Shifted],
    plan: Sequence[Block],
    *,
    rows: Sequence[CrewDay],
    actor: User | None,
    now: dt.datetime,
) -> None:
    """Write a plan down: rows follow their blocks, so notes go along; no row is written in vain.

    `rows` are all of the calendar as it stood. Moved by rule, a block is fixed no more.
    """
    by_key = {str(row.pk): row for row in rows}
    keys = {one.key for one in plan if one.key}
    left = [row for key, row in by_key.items() if key not in keys]
    new = [one for one in plan if not one.key]
    pairs = _paired(left, new)
    taken = {row.pk for row in pairs.values()}
    remove_blocks((row for row in left if row.pk not in taken), actor=actor, now=now)
    positions = _positions(plan)
    phases = {
        (str(phase.job_id), phase.kind): phase
        for phase in JobPhase.objects.filter(job__in={int(one.job) for one in new})
    }
    crews = {str(crew.pk): crew for crew in Crew.objects.all()}
    for one in new:
        values: dict[str, Any] = {
            "crew": crews[one.crew],
            "date": one.date,
            "position": positions[_name(one)],
            "hours": Decimal(str(one.hours)),
            "start": one.start,
            "machine_id": int(one.machine) if one.machine else None,
        }
        row = pairs.get(_name(one))
        if row is None:
            phase = phases[one.job, one.phase.value]
            who = {"placed_by": actor, "placed_at": now}
            fresh = CrewDay(job_id=phase.job_id, phase=phase, **values, **who)
            add_row(fresh, actor=actor, action=ACTION, at=now)
        else:
            changes = values | ({} if row.date == one.date else {"is_pinned": False})
            change_row(row, changes=changes, actor=actor, action=ACTION, at=now)
    _keep_the_hours(plan, by_key, positions, shifted, actor=actor, now=now)


def _name(one: Block) -> Name:
    return one.job, one.phase.value, one.crew, one.date


def _name_of(row: CrewDay) -> Name:
    return str(row.job_id), row.phase.kind, str(row.crew_id), row.date


def _paired(left: Sequence[CrewDay], new: Sequence[Block]) -> dict[Name, CrewDay]:
    """Return for new blocks the row each takes over: its own place's, else the phase's next.

    So no block goes where a row still stands that goes elsewhere: that row would be its own.
    """
    at = {_name_of(row): row for row in left}
    pairs = {_name(one): at[_name(one)] for one in new if _name(one) in at}
    free = [row for row in left if _name_of(row) not in pairs]
    for one in new:
        if _name(one) in pairs:
            continue
        row = next((r for r in free if _name_of(r)[:2] == _name(one)[:2]), None)
        if row is not None:
            free.remove(row)
            pairs[_name(one)] = row
    return pairs


def _positions(plan: Sequence[Block]) -> dict[Name, int]:
    """Return each block's place among those of its crew's day: as the plan lists them."""
    last: dict[Place, int] = {}
    found: dict[Name, int] = {}
    for one in plan:
        at = one.crew, one.date
        last[at] = last.get(at, -1) + 1
        found[_name(one)] = last[at]
    return found


def _keep_the_hours(
    plan: Sequence[Block],
    rows: dict[str, CrewDay],
    positions: dict[Name, int],
    shifted: Sequence[Shifted],
    *,
    actor: User | None,
    now: dt.datetime,
) -> None:
    """Let blocks that stay on their days begin when, and in the order, the plan says."""
    touched = {
        (block.crew, block.date) for one in shifted if one.fate != Fate.KEPT for block in one.blocks
    }
    for one in plan:
        if not one.key:
            continue
        row = rows[one.key]
        changes: dict[str, Any] = {"start": one.start}
        if (one.crew, one.date) in touched:
            changes["position"] = positions[_name(one)]
        if any(getattr(row, name) != value for name, value in changes.items()):
            change_row(row, changes=changes, actor=actor, action=ACTION, at=now)
