"""A block of the calendar as the office changes it: its place and its note together."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from firm.models import User
from firm.services.saving import change_row
from scheduling.models import CrewDay, FenceJob
from scheduling.services.planning import add_block, move_block

PLACE = ("crew", "date", "hours", "start", "air_f")


@transaction.atomic
def add_crew_day(
    *,
    job: FenceJob,
    values: Mapping[str, Any],
    actor: User,
    now: dt.datetime,
    override_note: str | None = None,
) -> CrewDay:
    """Put a phase of a job on a day by hand, with its note.

    With an `override_note` the owner places it against the rules that it breaks.

    Raises:
        Refusal: it would break a rule of the calendar; the sentence says which.
    """
    place = {name: values[name] for name in PLACE}
    phase = values["phase"]
    block = add_block(
        job=job, phase=phase, **place, actor=actor, now=now, override_note=override_note
    )
    return _with_note(block, values.get("note", ""), actor=actor, now=now)


@transaction.atomic
def change_crew_day(
    *,
    block: CrewDay,
    values: Mapping[str, Any],
    actor: User,
    now: dt.datetime,
    override_note: str | None = None,
) -> CrewDay:
    """Move a block by hand and change its note; a note alone moves and pins nothing.

    With an `override_note` the owner places it against the rules that it breaks.

    Raises:
        Refusal: it would break a rule of the calendar; the sentence says which.
    """
    place = {name: values.get(name, getattr(block, name)) for name in PLACE}
    if any(place[name] != getattr(block, name) for name in PLACE):
        block = move_block(block=block, **place, actor=actor, now=now, override_note=override_note)
    return _with_note(block, values.get("note", block.note), actor=actor, now=now)


def _with_note(block: CrewDay, note: str, *, actor: User, now: dt.datetime) -> CrewDay:
    return change_row(
        block,
        changes={"note": note},
        actor=actor,
        action="changed the note of a crew day",
        at=now,
    )
