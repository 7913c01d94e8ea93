"""Production rates that hold from a day on; what held on days before is never touched."""

import datetime as dt

from django.db import transaction

from estimating.models import ProductionRate
from firm.errors import Refusal
from firm.models import User
from firm.services.audit import record


@transaction.atomic
def set_rate(
    *,
    actor: User,
    kind: str,
    key: str,
    value: float,
    effective_from: dt.date,
    today: dt.date,
    at: dt.datetime,
) -> ProductionRate:
    """Let a rate hold from today or a later day on, in place of one that was to begin that day.

    Estimates keep the rows they were priced with, so that a slip of today may be put right today.

    Raises:
        Refusal: the day is past, or the rate says what holds then already.
    """
    if effective_from < today:
        raise Refusal(
            "This day is past: estimates were priced with what held then. Let the new rate hold "
            "from today or a later day on.",
            field="effective_from",
        )
    rows = ProductionRate.objects.select_for_update().filter(kind=kind, key=key)
    until_then = rows.filter(effective_from__lte=effective_from).order_by("effective_from").last()
    if until_then is not None and until_then.value == value:
        raise Refusal(
            f"The rate is {value:g} on this day already, since {until_then.effective_from}.",
            field="value",
        )
    of_day = until_then is not None and until_then.effective_from == effective_from
    before = {"value": until_then.value} if until_then is not None and of_day else {}
    row = (
        until_then
        if until_then is not None and of_day
        else ProductionRate(kind=kind, key=key, effective_from=effective_from)
    )
    row.value = value
    row.save()
    record(
        actor=actor,
        action="set a production rate",
        target=row,
        before=before,
        after={"value": value, "effective_from": effective_from},
        at=at,
    )
    return row


@transaction.atomic
def drop_planned_rate(
    *, actor: User, rate: ProductionRate, today: dt.date, at: dt.datetime
) -> None:
    """Take back a rate whose day has not come.

    Raises:
        Refusal: it holds already, or held once.
    """
    row = ProductionRate.objects.select_for_update().get(pk=rate.pk)
    if row.effective_from <= today:
        raise Refusal("This rate has begun to hold, and stays in the history.")
    record(
        actor=actor,
        action="took back a planned production rate",
        target=row,
        before={"value": row.value, "effective_from": row.effective_from},
        after={},
        at=at,
    )
    row.delete()
