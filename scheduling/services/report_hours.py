"""The hours people worked on one day at one job: what can't be right, and keeping the rest."""

import datetime as dt
import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q
from django.utils import timezone

from firm.measure.said import Said
from firm.models import User
from firm.selectors.profile import firm_profile
from firm.services.audit import record, snapshot
from firm.services.saving import add_row, change_row
from scheduling.models import CrewMember, DayReport, HoursWorked
from scheduling.services.report_entries import Fault, HoursEntry

# People report before they drive home and round to the quarter.
AHEAD = dt.timedelta(minutes=15)
SECONDS_PER_MINUTE = 60


@dataclass(frozen=True, kw_only=True, slots=True)
class _Span:
    """Time of one person; `row` is None for what was kept elsewhere, which `where` names."""

    person: tuple[str, int]
    started: dt.time
    ended: dt.time
    row: int | None = None
    where: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class HoursPlan:
    """The rows as they stand, and the people they may belong to."""

    report: DayReport
    stored: Mapping[int, HoursWorked]
    members: Mapping[int, CrewMember]

    @classmethod
    def of(cls, report: DayReport) -> "HoursPlan":
        """Read what is kept of a report; one that is not saved yet has nothing."""
        rows = report.hours.select_related("member") if report.pk else ()
        stored = {row.pk: row for row in rows}
        members = {member.pk: member for member in report.crew.members.all()}
        return cls(report=report, stored=stored, members=members)

    def kept_row(self, entry: HoursEntry) -> HoursWorked | None:
        """Return the row an entry stands for; the same span sent twice is the same row."""
        if entry.pk is not None:
            return self.stored.get(entry.pk)
        same = (
            row
            for row in self.stored.values()
            if (row.member_id, row.started, row.ended) == (entry.member, entry.started, entry.ended)
        )
        return next(same, None)


def hours_faults(
    plan: HoursPlan, entries: Sequence[HoursEntry], removed: Iterable[int], *, now: dt.datetime
) -> list[Fault]:
    """Return what can't be right about the hours handed in."""
    faults = []
    for entry in entries:
        if entry.member not in plan.members:
            faults.append(_at(entry, "member", Said("This person does not belong to the crew.")))
        elif entry.pk is not None and entry.pk not in plan.stored:
            faults.append(_at(entry, "member", Said("Somebody removed this line meanwhile.")))
        else:
            faults += _faults_of_one(entry, plan.report.date, now)
    return faults or _overlaps(plan, entries, frozenset(removed))


def keep_hours(
    plan: HoursPlan,
    entries: Sequence[HoursEntry],
    removed: Iterable[int],
    *,
    actor: User | None,
    now: dt.datetime,
) -> None:
    """Add, change and remove rows; a new row, or one that changed its person, takes their cost."""
    for pk in removed:
        if row := plan.stored.get(pk):
            record(actor=actor, action="removed hours", target=row, before=snapshot(row), at=now)
            row.delete()
    crew_rate = firm_profile().crew_rate
    for entry in entries:
        member = plan.members[entry.member]
        own = member.hourly_cost
        cost = crew_rate if own is None else own
        row = plan.kept_row(entry)
        if row is None:
            new = HoursWorked(report=plan.report, hourly_cost=cost, **_values(entry))
            add_row(new, actor=actor, action="wrote down hours", at=now)
            continue
        changes = _values(entry)
        if row.member_id != entry.member:
            changes["hourly_cost"] = cost
        change_row(row, changes=changes, actor=actor, action="changed hours", at=now)


def _values(entry: HoursEntry) -> dict[str, Any]:
    return {
        "member_id": entry.member,
        "phase_id": entry.phase,
        "started": entry.started,
        "ended": entry.ended,
        "break_min": entry.break_min,
    }


def _at(entry: HoursEntry, name: str, message: str) -> Fault:
    return Fault(field=f"hours-{entry.row}-{name}", message=message)


def _faults_of_one(entry: HoursEntry, day: dt.date, now: dt.datetime) -> list[Fault]:
    if entry.ended <= entry.started:
        words = Said(
            "The end must come after {start}; a night goes on the next day.",
            start=f"{entry.started:%H:%M}",
        )
        return [_at(entry, "ended", words)]
    span_min = _span_min(entry.started, entry.ended)
    if entry.break_min >= span_min:
        words = Said("The break is as long as the {minutes} min it lies in.", minutes=span_min)
        return [_at(entry, "break_min", words)]
    latest = timezone.localtime(now) + AHEAD
    if dt.datetime.combine(day, entry.ended, tzinfo=latest.tzinfo) > latest:
        clock = f"{timezone.localtime(now):%H:%M}"
        words = Said("It is {clock} now: hours that are still to come can't count.", clock=clock)
        return [_at(entry, "ended", words)]
    return []


def _span_min(started: dt.time, ended: dt.time) -> int:
    begin, end = (dt.datetime.combine(dt.date(2000, 1, 1), each) for each in (started, ended))
    return int((end - begin).total_seconds()) // SECONDS_PER_MINUTE


def _overlaps(
    plan: HoursPlan, entries: Sequence[HoursEntry], removed: frozenset[int]
) -> list[Fault]:
    """Return the spans of one person that lie over another, here or at another job."""
    replaced = removed | {row.pk for entry in entries if (row := plan.kept_row(entry))}
    handed_in = [
        _Span(
            person=_person(plan.members[entry.member]),
            started=entry.started,
            ended=entry.ended,
            row=entry.row,
        )
        for entry in entries
    ]
    left = [_kept_span(row) for row in plan.stored.values() if row.pk not in replaced]
    elsewhere = [
        _kept_span(row, where=Said("at {job}", job=row.report.job.said))
        for row in _elsewhere(plan, [plan.members[entry.member] for entry in entries])
    ]
    spans = handed_in + left + elsewhere
    spans.sort(key=lambda span: (span.person, span.started, span.ended))
    faults = []
    for first, second in itertools.combinations(spans, 2):
        if first.person == second.person and second.started < first.ended:
            faults += _overlap(first, second)
    return faults


def _overlap(first: _Span, second: _Span) -> list[Fault]:
    at, other = (second, first) if second.row is not None else (first, second)
    if at.row is None:
        # Both were kept long ago: whoever hands in this page did not do it.
        return []
    where = other.where or Said("in another line here")
    words = Said(
        "This lies over {start} to {end}, {where}.",
        start=f"{other.started:%H:%M}",
        end=f"{other.ended:%H:%M}",
        where=where,
    )
    return [Fault(field=f"hours-{at.row}-started", message=words)]


def _elsewhere(plan: HoursPlan, members: Sequence[CrewMember]) -> Iterable[HoursWorked]:
    """Return what the same people, by their log-ins too, worked in other reports of that day."""
    if not members:
        return []
    users = {member.user_id for member in members if member.user_id}
    same_person = Q(member__in=members) | Q(member__user__in=users)
    found = HoursWorked.objects.filter(same_person, report__date=plan.report.date)
    return found.exclude(report=plan.report.pk).select_related("member", "report__job")


def _kept_span(row: HoursWorked, *, where: str = "") -> _Span:
    person = _person(row.member)
    return _Span(person=person, started=row.started, ended=row.ended, where=where)


def _person(member: CrewMember) -> tuple[str, int]:
    return ("user", member.user_id) if member.user_id else ("member", member.pk)
