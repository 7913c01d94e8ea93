"""Adding and changing crews, their people, their days off, and the machines they share."""

import datetime as dt
from collections.abc import Mapping
from contextlib import AbstractContextManager
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone

from firm.errors import Refusal
from firm.models import Role, User
from firm.services.audit import record, snapshot
from firm.services.saving import add_row, change_row, locked
from scheduling.models import (
    Crew,
    CrewDay,
    CrewDaysOff,
    CrewMember,
    Machine,
    MemberTimeOff,
    PlanChange,
    Skill,
)
from scheduling.services.broken_blocks import noting_broken_blocks
from scheduling.services.skills import set_skills

NAME_TAKEN = "There is a crew of this name already."
MEMBER_TAKEN = "This crew has a person of this name already."
MACHINE_TAKEN = "There is a machine of this name, or one for this way of digging, already."
LEADS = frozenset({Role.OWNER, Role.CREW_LEAD})
DAY_H = Decimal(24)
MOST_DAYS_OFF = 366
SECONDS_AN_HOUR = Decimal(3600)


def add_crew(*, actor: User | None, values: Mapping[str, Any], at: dt.datetime) -> Crew:
    """Add a crew.

    Raises:
        Refusal: the name is taken, the crew has no working day, its day runs past midnight, or
            the lead is no crew lead.
    """
    crew = Crew(**values)
    _check_crew(crew)
    try:
        return add_row(crew, actor=actor, action="added a crew", at=at)
    except IntegrityError as error:
        raise Refusal(NAME_TAKEN, field="name") from error


@transaction.atomic
def change_crew(
    *, actor: User | None, crew: Crew, values: Mapping[str, Any], at: dt.datetime
) -> Crew:
    """Change a crew; what stands on its calendar stays, and the week shows what it now breaks.

    Raises:
        Refusal: the name is taken, the day runs past midnight, the lead is no crew lead, or a
            crew with days ahead is to be taken out of use.
    """
    _check_crew(Crew(**values))
    if not values.get("is_active", True):
        _refuse_days_ahead(locked(crew), today=timezone.localdate(at))
    try:
        with transaction.atomic():
            return change_row(crew, changes=values, actor=actor, action="changed a crew", at=at)
    except IntegrityError as error:
        raise Refusal(NAME_TAKEN, field="name") from error


def _check_crew(crew: Crew) -> None:
    start = crew.day_start
    began_h = Decimal(start.hour * 3600 + start.minute * 60 + start.second) / SECONDS_AN_HOUR
    if began_h + crew.hours_per_day > DAY_H:
        raise Refusal("The day would run past midnight.", field="hours_per_day")
    if not crew.weekdays:
        raise Refusal("Choose at least one working day.", field="weekdays")
    if crew.lead is not None and crew.lead.role not in LEADS:
        raise Refusal("Choose a log-in with the role crew lead or owner.", field="lead")


def _refuse_days_ahead(crew: Crew, *, today: dt.date) -> None:
    ahead = CrewDay.objects.filter(crew=crew, date__gte=today).count()
    if ahead:
        days = "1 day" if ahead == 1 else f"{ahead} days"
        raise Refusal(
            f"{crew.name} still has {days} on the calendar from today on: move or drop them first.",
            field="is_active",
        )


def add_member(
    *, actor: User, crew: Crew, values: Mapping[str, Any], at: dt.datetime
) -> CrewMember:
    """Add a person to a crew.

    Raises:
        Refusal: the crew has this name already, or somebody but the owner gives a cost.
    """
    _check_cost(actor, values)
    own, skills = _apart(values)
    try:
        with transaction.atomic():
            added = add_row(
                CrewMember(**own, crew=crew), actor=actor, action="added a crew member", at=at
            )
            set_skills(actor=actor, member=added, skills=skills or [], at=at)
            return added
    except IntegrityError as error:
        raise Refusal(MEMBER_TAKEN, field="name") from error


def change_member(
    *, actor: User, member: CrewMember, values: Mapping[str, Any], at: dt.datetime
) -> CrewMember:
    """Change a person of a crew; hours worked before keep the cost they were entered with.

    Raises:
        Refusal: the crew has this name already, or somebody but the owner gives a cost.
    """
    _check_cost(actor, values)
    own, skills = _apart(values)
    try:
        with transaction.atomic():
            changed = change_row(
                member, changes=own, actor=actor, action="changed a crew member", at=at
            )
            if skills is not None:
                set_skills(actor=actor, member=changed, skills=skills, at=at)
            return changed
    except IntegrityError as error:
        raise Refusal(MEMBER_TAKEN, field="name") from error


def _apart(values: Mapping[str, Any]) -> tuple[dict[str, Any], list[Skill] | None]:
    """Return a person's own fields, and the skills, which are rows of their own, where given."""
    own = {name: value for name, value in values.items() if name != "skills"}
    return own, list(values["skills"]) if "skills" in values else None


def _check_cost(actor: User, values: Mapping[str, Any]) -> None:
    if "hourly_cost" in values and not actor.is_owner:
        raise Refusal("Only the owner sets what an hour costs.")


@transaction.atomic
def add_days_off(
    *, actor: User | None, crew: Crew, values: Mapping[str, Any], at: dt.datetime
) -> CrewDaysOff:
    """Add days on which a crew does not work.

    Raises:
        Refusal: they end before they begin, or run into other days off of this crew.
    """
    row = CrewDaysOff(**values, crew=locked(crew))
    _check_days_off(row)
    with _noting(actor, at):
        return add_row(row, actor=actor, action="added days off", at=at)


@transaction.atomic
def change_days_off(
    *, actor: User | None, days_off: CrewDaysOff, values: Mapping[str, Any], at: dt.datetime
) -> CrewDaysOff:
    """Change days off.

    Raises:
        Refusal: they end before they begin, or run into other days off of this crew.
    """
    _check_days_off(CrewDaysOff(pk=days_off.pk, crew=locked(days_off.crew), **values))
    with _noting(actor, at):
        return change_row(days_off, changes=values, actor=actor, action="changed days off", at=at)


def _check_days_off(row: CrewDaysOff) -> None:
    check_off(row, CrewDaysOff.objects.filter(crew=row.crew), name=row.crew.name)


def check_off(
    row: CrewDaysOff | MemberTimeOff,
    others: QuerySet[CrewDaysOff] | QuerySet[MemberTimeOff],
    *,
    name: str,
) -> None:
    """Refuse days off that can't be, or that run into others of whoever it is.

    Raises:
        Refusal: at the day that is wrong.
    """
    _check_span(row.first_day, row.last_day)
    around = others.filter(first_day__lte=row.last_day, last_day__gte=row.first_day)
    other = around.exclude(pk=row.pk).first()
    if other is not None:
        days = _span_words(other.first_day, other.last_day)
        raise Refusal(f"{name} is off already {days}.", field="first_day")


def _check_span(first: dt.date, last: dt.date) -> None:
    """Refuse days off that end before they begin, or last longer than anybody means."""
    if last < first:
        raise Refusal("The last day comes before the first.", field="last_day")
    if (days := (last - first).days + 1) > MOST_DAYS_OFF:
        why = f"These are {days} days: up to {MOST_DAYS_OFF} at a time, a year."
        raise Refusal(f"{why} Who leaves for good is no longer in use.", field="last_day")


def _span_words(first: dt.date, last: dt.date) -> str:
    """Return days as they stand in a sentence: 'from Jun 10, 2026 to Jun 14, 2026'."""
    days = [f"{day:%b} {day.day}, {day.year}" for day in (first, last)]
    return f"from {days[0]} to {days[1]}" if first != last else f"on {days[0]}"


@transaction.atomic
def drop_days_off(*, actor: User | None, days_off: CrewDaysOff, at: dt.datetime) -> None:
    """Take days off away again: the crew works on them after all."""
    kept = locked(days_off)
    record(actor=actor, action="took days off away", target=kept, before=snapshot(kept), at=at)
    with _noting(actor, at):
        kept.delete()


def _noting(actor: User | None, at: dt.datetime) -> AbstractContextManager[None]:
    return noting_broken_blocks(cause=PlanChange.Cause.TIME_OFF, actor=actor, now=at)


def add_machine(*, actor: User | None, values: Mapping[str, Any], at: dt.datetime) -> Machine:
    """Add a machine that crews share.

    Raises:
        Refusal: its name or its way of digging is taken.
    """
    try:
        return add_row(Machine(**values), actor=actor, action="added a machine", at=at)
    except IntegrityError as error:
        raise Refusal(MACHINE_TAKEN, field="name") from error


def change_machine(
    *, actor: User | None, machine: Machine, values: Mapping[str, Any], at: dt.datetime
) -> Machine:
    """Change a machine, or how many of it the firm has.

    Raises:
        Refusal: its name or its way of digging is taken.
    """
    try:
        return change_row(machine, changes=values, actor=actor, action="changed a machine", at=at)
    except IntegrityError as error:
        raise Refusal(MACHINE_TAKEN, field="name") from error
