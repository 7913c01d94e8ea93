"""Changing the price book and fence systems."""

import datetime as dt
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from django.db import IntegrityError, transaction

from estimating.engine.errors import EngineError
from estimating.engine.reading import read_catalog
from estimating.mapping import firm_catalog_data
from estimating.models import FenceSystem, PriceItem
from firm.errors import Refusal
from firm.models import User
from firm.services.audit import differences, record, snapshot

NAME_TAKEN = "This short name is taken."
# What one purchase unit is: whoever counts an item counts it in these.
WHAT_ONE_IS = ("purchase_unit", "pack")

WhereCounted = Callable[[str], str]
_counts: list[WhereCounted] = []


def items_are_counted_by(way: WhereCounted) -> None:
    """Register, in an app's `tasks` module, what says where an item is counted, or nothing."""
    if way not in _counts:
        _counts.append(way)


@transaction.atomic
def save_price_item(
    *, actor: User, item: PriceItem | None, values: Mapping[str, Any], at: dt.datetime
) -> PriceItem:
    """Add a row to the price book, or change one; the key of a row never changes.

    Raises:
        Refusal: the short name is taken, or what one purchase unit is changes while some are
            counted in the old one.
    """
    if item is None:
        row = PriceItem(**values)
        before: dict[str, Any] = {}
    else:
        row = PriceItem.objects.select_for_update().get(pk=item.pk)
        before = snapshot(row)
        _refuse_other_unit(row, values)
        for name, value in values.items():
            setattr(row, name, value)
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        raise Refusal(NAME_TAKEN, field="key") from error
    old, new = differences(before, snapshot(row))
    if new:
        action = "changed a price" if item else "added to the price book"
        record(actor=actor, action=action, target=row, before=old, after=new, at=at)
    return row


def _refuse_other_unit(row: PriceItem, values: Mapping[str, Any]) -> None:
    """Refuse another purchase unit of what is counted: 6 boxes would be read as 6 rolls."""
    changed = [
        name for name in WHAT_ONE_IS if values.get(name, getattr(row, name)) != getattr(row, name)
    ]
    if not changed:
        return
    if where := " and ".join(filter(None, (way(row.key) for way in _counts))):
        raise Refusal(
            f"This stays while {where}: they would be counted as what they are not. Add a row for "
            "the new one and let the fence systems use that, or wait until none are left.",
            field=changed[0],
        )


def confirm_price(*, actor: User, item: PriceItem, today: dt.date, at: dt.datetime) -> PriceItem:
    """Note that the price was looked at today and still stands."""
    return save_price_item(actor=actor, item=item, values={"checked_on": today}, at=at)


@transaction.atomic
def save_system(
    *,
    actor: User,
    system: FenceSystem | None,
    seen_changed_at: dt.datetime | None,
    values: Mapping[str, Any],
    at: dt.datetime,
) -> FenceSystem:
    """Add or change a fence system once the engine can read it and knows all its items.

    Raises:
        Refusal: the engine can't read it, an item is unknown, or someone else changed it since
            `seen_changed_at`.
    """
    row = FenceSystem()
    if system is not None:
        row = FenceSystem.objects.select_for_update().get(pk=system.pk)
        if seen_changed_at is not None and row.changed_at != seen_changed_at:
            raise Refusal(
                "Someone changed this fence system while you did. Copy what you typed, open it "
                "again and put it in."
            )
    before = snapshot(row) if system else {}
    for name, value in values.items():
        setattr(row, name, value)
    row.changed_at = at
    _check_definition(row)
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        raise Refusal(NAME_TAKEN, field="key") from error
    old, new = differences(before, snapshot(row))
    action = "changed a fence system" if system else "added a fence system"
    record(actor=actor, action=action, target=row, before=old, after=new, at=at)
    return row


def _check_definition(row: FenceSystem) -> None:
    if not isinstance(row.definition, dict):
        raise Refusal("A definition is an object in braces: { ... }.", field="definition")
    data = firm_catalog_data(today=row.changed_at.date())
    data["fence_systems"] = {row.key: {**row.definition, "name": row.name}}
    try:
        read_catalog(data)
    except EngineError as error:
        # Names the place below the definition once, not its path in all of the firm's data.
        path = error.field.removeprefix(f"fence_systems.{row.key}").removeprefix(".")
        message = str(error).replace(error.field, path) if error.field else str(error)
        raise Refusal(message, field=f"definition.{path}".rstrip(".")) from error
    known = data["prices"]
    unknown = sorted({item for item in _items_of(row.definition) if item not in known})
    if unknown:
        raise Refusal(
            f"The price book has no item {', '.join(unknown)}. Add it there first.",
            field="definition",
        )


def _items_of(definition: Mapping[str, Any]) -> Iterator[str]:
    for post in definition.get("posts", {}).values():
        yield post["item"]
    gate = definition.get("gate", {})
    for holder in (*gate.get("heavier_posts", []), gate.get("slide") or {}):
        if "post" in holder:
            yield holder["post"]["item"]
    for material in definition.get("materials", []):
        yield material["item"]
        yield from material.get("other_lengths", ())
