"""Posts of a job as they are set, and the rock that was met: ticks made and taken away."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.utils import timezone

from firm.measure.said import Said
from firm.models import User
from firm.services.saving import add_row, change_row
from scheduling.engine.wording import short_day_words
from scheduling.models import DayReport, PostRecord
from scheduling.selectors.reports import SheetPost
from scheduling.services.report_entries import Fault, PostTicks, RockEntry

LAST_NUMBER = 999


@dataclass(frozen=True, kw_only=True, slots=True)
class PostPlan:
    """The posts of a job's layout, none where it has no layout, and what is kept of each."""

    posts: tuple[SheetPost, ...]
    records: Mapping[int, PostRecord]

    @property
    def numbers(self) -> frozenset[int]:
        """The numbers there are."""
        return frozenset(post.number for post in self.posts)

    def is_set(self, number: int) -> bool:
        """Say whether a post is set."""
        found = self.records.get(number)
        return found is not None and found.set_at is not None

    def wanted(self, ticks: PostTicks) -> frozenset[int]:
        """Return the posts that are to be set and are not yet."""
        asked = self.numbers if ticks.all_set else ticks.newly_set
        return frozenset(number for number in asked if not self.is_set(number))

    def taken_away(self, ticks: PostTicks) -> frozenset[int]:
        """Return the posts whose tick goes and is there."""
        gone = frozenset() if ticks.all_set else ticks.unset
        return frozenset(number for number in gone if self.is_set(number))

    def are_all_set(self, newly_set: Iterable[int], unset: Iterable[int]) -> bool:
        """Say whether every post of the layout is set once these ticks count."""
        now_set = {number for number in self.numbers if self.is_set(number)}
        return bool(self.posts) and (now_set | set(newly_set)) - set(unset) >= self.numbers

    def set_in(self, report: DayReport) -> frozenset[int]:
        """Return the posts that were set in a report."""
        return frozenset(
            number
            for number, row in self.records.items()
            if report.pk and row.report_id == report.pk and row.set_at is not None
        )


def tick_faults(plan: PostPlan, report: DayReport, ticks: PostTicks) -> list[Fault]:
    """Return the ticks that belong to no post, or to another day."""
    unknown = sorted((ticks.newly_set | ticks.unset) - plan.numbers)
    faults = [Fault(field="posts", message=no_such_post(plan, number)) for number in unknown]
    for number in sorted(plan.taken_away(ticks) - plan.set_in(report) - frozenset(unknown)):
        day = plan.records[number].report.date
        words = Said(
            "Post {number} was set on {day}: undo it in that day's report.",
            number=number,
            day=short_day_words(day),
        )
        faults.append(Fault(field="posts", message=words))
    return faults


def no_such_post(plan: PostPlan, number: int) -> str:
    """Return the sentence for a number that no post has."""
    numbers = sorted(plan.numbers)
    if not numbers:
        return Said("A post's number is from 1 to {last}.", last=LAST_NUMBER)
    return Said(
        "There is no post {number}: this job has posts {first} to {last}.",
        number=number,
        first=numbers[0],
        last=numbers[-1],
    )


def keep_ticks(
    plan: PostPlan,
    report: DayReport,
    ticks: PostTicks,
    *,
    set_at: dt.datetime,
    actor: User | None,
    now: dt.datetime,
) -> None:
    """Write posts that were set, and those that were not set after all."""
    by = {"recorded_by": actor, "recorded_at": now}
    for number in sorted(plan.wanted(ticks)):
        row = plan.records.get(number)
        if row is None:
            row = PostRecord(job=report.job, number=number, report=report, set_at=set_at, **by)
            add_row(row, actor=actor, action="set a post", at=now)
        else:
            changes = {"report": report, "set_at": set_at, **by}
            change_row(row, changes=changes, actor=actor, action="set a post", at=now)
    for number in sorted(plan.taken_away(ticks)):
        row = plan.records[number]
        changes = {"set_at": None, **by}
        change_row(row, changes=changes, actor=actor, action="took a post's tick away", at=now)


def rock_faults(plan: PostPlan, entries: Sequence[RockEntry]) -> list[Fault]:
    """Return the rows of rock at posts that there are not, or that stand there twice."""
    faults, seen = [], set()
    for entry in entries:
        is_known = (
            entry.post_number in plan.numbers
            if plan.posts
            else 0 < entry.post_number <= LAST_NUMBER
        )
        words = "" if is_known else no_such_post(plan, entry.post_number)
        if entry.post_number in seen:
            words = Said("Post {number} stands in another line already.", number=entry.post_number)
        seen.add(entry.post_number)
        if words:
            faults.append(Fault(field=f"rock-{entry.row}-post_number", message=words))
    return faults


def keep_rock(
    report: DayReport,
    entries: Sequence[RockEntry],
    removed: Iterable[int],
    *,
    actor: User | None,
    now: dt.datetime,
) -> None:
    """Write the rock that was met, and take away what was written by mistake."""
    rows = {row.number: row for row in report.job.post_records.all()}
    by = {"recorded_by": actor, "recorded_at": now}
    typed = {entry.post_number for entry in entries}
    for number in sorted(set(removed) - typed):
        row = rows.get(number)
        if row is not None and row.met_rock:
            none = {"met_rock": False, "rock_depth_in": None, "rock_min": None, "note": ""}
            change_row(row, changes=none | by, actor=actor, action="took rock away", at=now)
    for entry in entries:
        found = {
            "met_rock": True,
            "rock_depth_in": entry.depth_in,
            "rock_min": entry.minutes,
            "note": entry.note,
        }
        row = rows.get(entry.post_number)
        if row is None:
            row = PostRecord(job=report.job, number=entry.post_number, report=report, **found, **by)
            add_row(row, actor=actor, action="met rock at a post", at=now)
        elif any(getattr(row, name) != value for name, value in found.items()):
            change_row(row, changes=found | by, actor=actor, action="met rock at a post", at=now)


def moment_of_tick(report: DayReport, *, now: dt.datetime) -> dt.datetime:
    """Return when a post ticked now was set: now, or on an earlier day when the crew went home."""
    here = timezone.localtime(now)
    if report.date == here.date():
        return here.replace(second=0, microsecond=0)
    crew = report.crew
    began = dt.datetime.combine(report.date, crew.day_start, tzinfo=here.tzinfo)
    last = dt.datetime.combine(report.date, dt.time(23, 59), tzinfo=here.tzinfo)
    return min(began + dt.timedelta(hours=float(crew.hours_per_day)), last)
