"""Adding, changing and dropping the days on which one person of a crew is not there."""

import datetime as dt
from collections.abc import Mapping
from contextlib import AbstractContextManager
from typing import Any

from django.db import transaction

from firm.models import User
from firm.services.audit import record, snapshot
from firm.services.saving import add_row, change_row, locked
from scheduling.models import CrewMember, MemberTimeOff, PlanChange
from scheduling.services.broken_blocks import noting_broken_blocks
from scheduling.services.crews import check_off


@transaction.atomic
def add_time_off(
    *, actor: User | None, member: CrewMember, values: Mapping[str, Any], at: dt.datetime
) -> MemberTimeOff:
    """Add days on which a person is not there.

    Raises:
        Refusal: they end before they begin, last over a year, or run into other time off of this
            person.
    """
    row = MemberTimeOff(**values, member=locked(member))
    _check(row)
    with _noting(actor, at):
        return add_row(row, actor=actor, action="added time off", at=at)


@transaction.atomic
def change_time_off(
    *, actor: User | None, time_off: MemberTimeOff, values: Mapping[str, Any], at: dt.datetime
) -> MemberTimeOff:
    """Change the days on which a person is not there.

    Raises:
        Refusal: as for new ones.
    """
    _check(MemberTimeOff(pk=time_off.pk, member=locked(time_off.member), **values))
    with _noting(actor, at):
        return change_row(time_off, changes=values, actor=actor, action="changed time off", at=at)


@transaction.atomic
def drop_time_off(*, actor: User | None, time_off: MemberTimeOff, at: dt.datetime) -> None:
    """Take time off away again: the person is there after all."""
    kept = locked(time_off)
    record(actor=actor, action="took time off away", target=kept, before=snapshot(kept), at=at)
    with _noting(actor, at):
        kept.delete()


def _noting(actor: User | None, at: dt.datetime) -> AbstractContextManager[None]:
    return noting_broken_blocks(cause=PlanChange.Cause.TIME_OFF, actor=actor, now=at)


def _check(row: MemberTimeOff) -> None:
    check_off(row, MemberTimeOff.objects.filter(member=row.member), name=row.member.name)
