"""The air typed for a block's day: on another day it is that day's own which counts."""

import datetime as dt
from collections.abc import Mapping, Sequence

from firm.models import User
from firm.services.saving import change_row
from scheduling.models import CrewDay
from scheduling.selectors.weather import air_since


def air_on(row: CrewDay, date: dt.date, typed_f: float | None) -> float | None:
    """Return what to keep of the air for a block that goes to a day.

    What was typed for the old day goes where the new day's air, or its month's, is written down;
    where nothing is known it is the best there is. Typed otherwise than it stood, it is for the
    new day.
    """
    if typed_f is None or date == row.date or typed_f != row.air_f:
        return typed_f
    return None if air_since(date).knows(date) else typed_f


def let_air_follow(
    rows: Sequence[CrewDay],
    stood_on: Mapping[int, dt.date],
    *,
    actor: User | None,
    now: dt.datetime,
) -> bool:
    """Let blocks that moved, from the days they stood on, take the air of theirs; say if any did.

    The rows come as they stand now.
    """
    moved = [
        row for row in rows if row.air_f is not None and stood_on.get(row.pk, row.date) != row.date
    ]
    known = air_since(min(row.date for row in moved)) if moved else None
    followed = [row for row in moved if known and known.knows(row.date)]
    for row in followed:
        changes = {"air_f": None}
        change_row(row, changes=changes, actor=actor, action="took a block's old air away", at=now)
    return bool(followed)
