"""Changing what the firm is not sure of."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.text import slugify

from estimating import mapping
from estimating.engine.errors import EngineError
from estimating.models import UncertainRow
from firm.errors import Refusal
from firm.models import User
from firm.services.audit import differences, record, snapshot

KEY_MAX_CHARS = 50


@transaction.atomic
def save_uncertain(
    *, actor: User, row: UncertainRow | None, values: Mapping[str, Any], at: dt.datetime
) -> UncertainRow:
    """Add a row that the firm is not sure of, or change one; its key never changes.

    Raises:
        Refusal: its figures make no sense together; the refusal names the field.
    """
    before: dict[str, Any] = {}
    if row is None:
        kept = UncertainRow(key=_new_key(str(values["name"])))
    else:
        kept = UncertainRow.objects.select_for_update().get(pk=row.pk)
        before = snapshot(kept)
    for name, value in values.items():
        setattr(kept, name, value)
    try:
        mapping.uncertain(kept)
    except EngineError as error:
        raise Refusal(str(error), field=error.field) from error
    kept.save()
    old, new = differences(before, snapshot(kept))
    if new:
        action = "changed what is uncertain" if row else "added to what is uncertain"
        record(actor=actor, action=action, target=kept, before=old, after=new, at=at)
    return kept


def _new_key(name: str) -> str:
    """Return a key that no row has: its draws hang on it, whatever the row is called later."""
    base = slugify(name).replace("-", "_")[:KEY_MAX_CHARS] or "row"
    taken = set(UncertainRow.objects.filter(key__startswith=base).values_list("key", flat=True))
    number = 1
    key = base
    while key in taken:
        number += 1
        key = f"{base}_{number}"
    return key
