"""Keeping what a crew reports of its day at a job: all of a page, or nothing of it."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone

from firm.measure.said import Said
from firm.models import User
from firm.services.saving import add_row, change_row, locked
from scheduling.models import Crew, DayReport, FenceJob, JobPhase, JobPhoto
from scheduling.selectors.reports import SET_PHASES, posts_of
from scheduling.services.photos import About, LookedAt, drop_file, keep_photo
from scheduling.services.report_entries import (
    Fault,
    PhaseTicks,
    PostTicks,
    ReportEntry,
    ReportRefused,
)
from scheduling.services.report_hours import HoursPlan, hours_faults, keep_hours
from scheduling.services.report_posts import (
    PostPlan,
    keep_rock,
    keep_ticks,
    moment_of_tick,
    no_such_post,
    rock_faults,
    tick_faults,
)
from scheduling.services.report_waits import note_report_waits, stands_in

ASK_FOR_POSTS = Said(
    "No post is ticked as set that day. Tick them above, or confirm below that concrete was "
    "poured without a post."
)
FinishedDays = Mapping[int, dt.date | None]
WORDS = ("bags_used", "air_f", "mix", "remarks", "extra_work", "needed_next")


@dataclass(frozen=True, kw_only=True, slots=True)
class Photos:
    """Photos handed in together, and what they show."""

    photos: Sequence[LookedAt]
    about: About


@dataclass(frozen=True, kw_only=True, slots=True)
class _Page:
    """One report as it is being written."""

    report: DayReport
    posts: PostPlan
    hours: HoursPlan
    entry: ReportEntry
    now: dt.datetime

    @property
    def poured_at(self) -> dt.datetime | None:
        """When the last post was set in concrete: as typed, or else as ticked.

        A time left as it stood moves with a post that is ticked later, so that nothing hangs too
        early; it goes with the last tick that is taken away.
        """
        stored, ticks = self.report.poured_at, self.entry.posts
        typed = self._typed_pour()
        newly_set, taken = self.posts.wanted(ticks), self.posts.taken_away(ticks)
        if typed is not None and typed != stored:
            return typed
        concrete = {post.number for post in self.posts.posts if post.bags}
        if newly_set & concrete:
            ticked = moment_of_tick(self.report, now=self.now)
            return max(ticked, stored) if stored else ticked
        if self.set_here:
            return stored
        return None if taken else typed

    def _typed_pour(self) -> dt.datetime | None:
        day, stored = self.entry.day, self.report.poured_at
        if day is None or "pour_time" in day.untouched:
            return stored
        if day.pour_time is None:
            return None
        zone = timezone.get_current_timezone()
        typed = dt.datetime.combine(self.report.date, day.pour_time, tzinfo=zone)
        # The page shows minutes: a time that was not touched is the one that is kept.
        same = stored is not None and stored.replace(second=0, microsecond=0) == typed
        return stored if same else typed

    @property
    def set_here(self) -> frozenset[int]:
        """The posts set in this report once the page is saved."""
        ticks = self.entry.posts
        kept = self.posts.set_in(self.report) - self.posts.taken_away(ticks)
        return kept | self.posts.wanted(ticks)

    def faults(self) -> list[Fault]:
        """Return everything that can't be right."""
        return [
            *tick_faults(self.posts, self.report, self.entry.posts),
            *self._pour_faults(),
            *hours_faults(self.hours, self.entry.hours, self.entry.hours_removed, now=self.now),
            *rock_faults(self.posts, self.entry.rock),
        ]

    def _pour_faults(self) -> list[Fault]:
        day = self.entry.day
        if day is None or day.pour_time is None:
            return []
        typed = self._typed_pour()
        if typed is not None and typed > self.now:
            clock = f"{timezone.localtime(self.now):%H:%M}"
            words = Said(
                "It is {clock} now: a pour that is still to come can't count.", clock=clock
            )
            return [Fault(field="pour_time", message=words)]
        asks = bool(self.posts.posts) and not self.set_here and not day.without_posts
        if asks and typed != self.report.poured_at:
            return [Fault(field="pour_time", message=ASK_FOR_POSTS)]
        return []


def save_report(
    *,
    job: FenceJob,
    crew: Crew,
    date: dt.date,
    entry: ReportEntry,
    photos: Photos | None = None,
    actor: User | None,
    now: dt.datetime,
) -> DayReport:
    """Keep what a page says of a crew's day at a job; the same page sent twice changes nothing.

    Raises:
        ReportRefused: something can't be right; all of it is named and nothing is written.
    """
    new: list[JobPhoto] = []
    try:
        with transaction.atomic():
            # Two phones that report the same job take turns.
            locked(job)
            page = _page(job, crew, date, entry, now)
            if faults := page.faults() + _photo_faults(page, photos):
                raise ReportRefused(faults)
            stood = stands_in(page.report)
            report, phases = _keep(page, actor)
            note_report_waits(report, stood, phases, actor=actor, now=now)
            if photos is not None:
                _keep_photos(report, photos, new, actor=actor, now=now)
    except BaseException:
        for row in new:
            drop_file(row)
        raise
    return report


def report_faults(
    *,
    job: FenceJob,
    crew: Crew,
    date: dt.date,
    entry: ReportEntry,
    photos: Photos | None = None,
    now: dt.datetime,
) -> list[Fault]:
    """Return what can't be right about a page, and keep nothing of it."""
    page = _page(job, crew, date, entry, now)
    return page.faults() + _photo_faults(page, photos)


def _keep_photos(
    report: DayReport,
    photos: Photos,
    new: list[JobPhoto],
    *,
    actor: User | None,
    now: dt.datetime,
) -> None:
    """Keep photos; what is new goes into `new` as it is written."""
    for photo in photos.photos:
        row, is_new = keep_photo(
            photo, job=report.job, report=report, about=photos.about, actor=actor, now=now
        )
        if is_new:
            new.append(row)


def _page(job: FenceJob, crew: Crew, date: dt.date, entry: ReportEntry, now: dt.datetime) -> _Page:
    report = DayReport.objects.filter(job=job, crew=crew, date=date).first()
    if report is None:
        report = DayReport(job=job, crew=crew, date=date, reported_at=now)
    records = {row.number: row for row in job.post_records.select_related("report")}
    return _Page(
        report=report,
        posts=PostPlan(posts=posts_of(job), records=records),
        hours=HoursPlan.of(report),
        entry=entry,
        now=now,
    )


def _photo_faults(page: _Page, photos: Photos | None) -> list[Fault]:
    number = photos.about.post_number if photos else None
    if number is None or not page.posts.posts or number in page.posts.numbers:
        return []
    return [Fault(field="photo_post", message=no_such_post(page.posts, number))]


def _keep(page: _Page, actor: User | None) -> tuple[DayReport, FinishedDays]:
    now, entry = page.now, page.entry
    are_all_set = page.posts.are_all_set(
        page.posts.wanted(entry.posts), page.posts.taken_away(entry.posts)
    )
    are_ticked = bool(page.posts.wanted(entry.posts))
    is_undone = bool(page.posts.taken_away(entry.posts))
    set_at = moment_of_tick(page.report, now=now)
    poured_at = page.poured_at
    if are_ticked and poured_at is not None:
        set_at = min(set_at, poured_at)
    report = _keep_day(page, poured_at, actor)
    keep_ticks(page.posts, report, entry.posts, set_at=set_at, actor=actor, now=now)
    keep_hours(page.hours, entry.hours, entry.hours_removed, actor=actor, now=now)
    keep_rock(report, entry.rock, entry.rock_removed, actor=actor, now=now)
    phases = _keep_phases(
        report,
        entry.phases,
        finishes=are_ticked and are_all_set,
        reopens=is_undone,
        actor=actor,
        now=now,
    )
    return report, phases


def _keep_day(page: _Page, poured_at: dt.datetime | None, actor: User | None) -> DayReport:
    """Write the report's own row; untouched words do not make a new one of it."""
    report, day = page.report, page.entry.day
    values: dict[str, Any] = {"poured_at": poured_at}
    if day is not None:
        values |= {name: getattr(day, name) for name in WORDS if name not in day.untouched}
    mix = values.get("mix", report.mix)
    if poured_at is not None and not mix:
        values["mix"] = report.job.mix
    who = {"reported_by": actor, "reported_at": page.now}
    if report.pk is None:
        for name, value in (values | who).items():
            setattr(report, name, value)
        return add_row(report, actor=actor, action="reported a day", at=page.now)
    if all(getattr(report, name) == value for name, value in values.items()):
        return report
    return change_row(
        report, changes=values | who, actor=actor, action="changed a day's report", at=page.now
    )


def _keep_phases(
    report: DayReport,
    ticks: PhaseTicks,
    *,
    finishes: bool,
    reopens: bool,
    actor: User | None,
    now: dt.datetime,
) -> FinishedDays:
    """Finish and take up phases as ticked; digging and setting end with the last post.

    Return when those that changed were finished before.
    """
    phases = list(report.job.phases.select_for_update())
    wanted: dict[int, dt.date | None] = {}
    if reopens:
        wanted |= _reopened(phases)
    if finishes:
        wanted |= {phase.pk: report.date for phase in phases if phase.kind in SET_PHASES}
    wanted |= dict.fromkeys(ticks.finished, report.date) | dict.fromkeys(ticks.reopened)
    changed: dict[int, dt.date | None] = {}
    for phase in phases:
        if phase.pk not in wanted or bool(phase.finished_on) == bool(wanted[phase.pk]):
            continue
        day = wanted[phase.pk]
        action = "finished a phase" if day else "took a phase up again"
        change_row(phase, changes={"finished_on": day}, actor=actor, action=action, at=now)
        changed[phase.pk] = phase.finished_on
    return changed


def _reopened(phases: Sequence[JobPhase]) -> dict[int, dt.date | None]:
    """Return setting, which has a post to go, and digging where it ended on the same day."""
    found: dict[int, dt.date | None] = {}
    ended = next((one.finished_on for one in phases if one.kind == JobPhase.Kind.SET), None)
    for phase in phases:
        if phase.kind in SET_PHASES and ended is not None and phase.finished_on == ended:
            found[phase.pk] = None
    return found


def tick_posts(
    *,
    job: FenceJob,
    crew: Crew,
    date: dt.date,
    ticks: PostTicks,
    actor: User | None,
    now: dt.datetime,
) -> DayReport:
    """Set posts, or take their ticks away, and leave the rest of the day's report as it is.

    Raises:
        ReportRefused: there is no such post, or another day's report set it.
    """
    return save_report(
        job=job, crew=crew, date=date, entry=ReportEntry(posts=ticks), actor=actor, now=now
    )
