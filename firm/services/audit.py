"""Keeps who changed what; called by every service inside its own transaction."""

import datetime as dt
import json
from collections.abc import Iterable, Mapping
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models.fields.files import FieldFile

from firm.models import AuditEntry, User

NEVER_KEPT = frozenset({"password", "token", "token_sha256"})


def record(
    *,
    actor: User | None,
    action: str,
    target: models.Model,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
    at: dt.datetime,
    actor_name: str = "",
) -> AuditEntry:
    """Add one entry; `actor_name` names someone without a log-in, such as a customer."""
    return AuditEntry.objects.create(
        actor=actor,
        actor_name=(actor_name or _name(actor))[:150],
        action=action,
        target_type=target._meta.label_lower,
        target_id=str(target.pk),
        target_label=str(target)[:200],
        before=_plain(before or {}),
        after=_plain(after or {}),
        at=at,
    )


def snapshot(row: models.Model, fields: Iterable[str] | None = None) -> dict[str, Any]:
    """Return the values of `row` by field name, without secrets."""
    names = fields if fields is not None else (field.name for field in row._meta.concrete_fields)
    return {name: row.serializable_value(name) for name in names if name not in NEVER_KEPT}


def differences(
    before: Mapping[str, Any], after: Mapping[str, Any]
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the parts of two snapshots that differ."""
    changed = [name for name in after if before.get(name) != after[name]]
    return {name: before.get(name) for name in changed}, {name: after[name] for name in changed}


def _name(actor: User | None) -> str:
    return (actor.get_full_name() or actor.username) if actor else ""


def _plain(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return `values` as JSON can hold them: amounts and dates as text."""
    kept = {
        name: value.name if isinstance(value, FieldFile) else value
        for name, value in values.items()
        if name not in NEVER_KEPT
    }
    plain: dict[str, Any] = json.loads(json.dumps(kept, cls=DjangoJSONEncoder))
    return plain
