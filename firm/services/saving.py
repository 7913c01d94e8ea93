"""Adding and changing one row with its audit row beside it, for the services of this app."""

import datetime as dt
from collections.abc import Collection, Mapping
from typing import Any, TypeVar

from django.db import models, transaction

from firm.errors import Refusal
from firm.models import User
from firm.services.audit import differences, record, snapshot

Row = TypeVar("Row", bound=models.Model)
A_MOMENT = dt.timedelta(minutes=1)


@transaction.atomic
def add_row(row: Row, *, actor: User | None, action: str, at: dt.datetime) -> Row:
    """Insert `row` and record all that is known of it."""
    row.save(force_insert=True)
    record(actor=actor, action=action, target=row, after=snapshot(row), at=at)
    return row


@transaction.atomic
def change_row(
    row: Row, *, changes: Mapping[str, Any], actor: User | None, action: str, at: dt.datetime
) -> Row:
    """Write `changes` to the row as it stands in the database; record only what differs.

    The row is read anew under a lock: a form has already written into the one passed in.
    """
    kept = locked(row)
    before = snapshot(kept)
    for name, value in changes.items():
        setattr(kept, name, value)
    old, new = differences(before, snapshot(kept))
    if new:
        kept.save(update_fields=list(changes))
        record(actor=actor, action=action, target=kept, before=old, after=new, at=at)
    return kept


def locked(row: Row) -> Row:
    """Return the row as the database has it, locked until the transaction ends."""
    kept: Row = type(row)._default_manager.select_for_update().get(pk=row.pk)
    return kept


def refuse_repeated(
    row: models.Model, *, same: Collection[str], written_at: str, words: str, now: dt.datetime
) -> None:
    """Refuse a new row that was written down a moment ago: a form sent twice counts once.

    `same` are the fields that say so, `written_at` is the field of the moment. The caller holds a
    lock, or two at once both pass.

    Raises:
        Refusal: such a row stands there already.
    """
    values = {name: getattr(row, name) for name in same}
    values[f"{written_at}__range"] = (now - A_MOMENT, now)
    if type(row)._default_manager.filter(**values).exists():
        raise Refusal(words)
