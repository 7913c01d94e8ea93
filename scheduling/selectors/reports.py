"""Questions about what crews reported: the page of one day, a job's reports, who may see them."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Exists, OuterRef, Q, QuerySet

from estimating.selectors.build_sheets import SheetPost, StringSetting, build_sheet
from firm.measure.said import Said
from firm.models import Role, User
from scheduling.models import (
    Crew,
    CrewDay,
    DayReport,
    FenceJob,
    HoursWorked,
    JobPhase,
    JobPhoto,
    PostRecord,
)
from scheduling.selectors.planning import hang_sentence
from scheduling.selectors.reach import (
    crew_days_within_reach,
    crews_within_reach,
    jobs_within_reach,
)
from scheduling.selectors.sheet_content import number_rows
from scheduling.selectors.weather import air_since

__all__ = ["SheetPost"]

LOOKED_BACK = dt.timedelta(days=14)
FIRST_DAY = dt.date(2000, 1, 1)
# When to ring the office while the crew is still there: common practice, no source.
MOST_BAGS_TO_PLAN = 1.25
MOST_ROCK = 0.30
SET_PHASES = (JobPhase.Kind.DIG, JobPhase.Kind.SET)
MINUTES_PER_HOUR = 60


@dataclass(frozen=True, kw_only=True, slots=True)
class PostTick:
    """A post on the page: set or not, and whether another day's report says so."""

    post: SheetPost
    is_set: bool
    set_on: dt.date | None

    @property
    def is_fixed(self) -> bool:
        """Say whether it was set in another report, which is where it may be undone."""
        return self.set_on is not None


@dataclass(frozen=True, kw_only=True, slots=True)
class PostsView:
    """How the posts of a job stand on the page of one day."""

    ticks: tuple[PostTick, ...]
    set_here: tuple[int, ...]
    left: tuple[int, ...]
    finished_phases: tuple[int, ...]
    hang_words: str
    hints: tuple[str, ...]
    poured_at: dt.datetime | None
    is_air_unknown: bool

    @property
    def done_count(self) -> int:
        """How many are set, whenever it was."""
        return len(self.ticks) - len(self.left)

    @property
    def left_rows(self) -> str:
        """The numbers of those still to be set, in rows: '2-8'."""
        return number_rows(self.left)


@dataclass(frozen=True, kw_only=True, slots=True)
class ReportedHours:
    """A span of one person with its hours, the break taken off."""

    row: HoursWorked
    worked_h: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class ReportedDay:
    """A report with its hours."""

    report: DayReport
    hours: tuple[ReportedHours, ...]
    worked_h: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class ReportedJob:
    """A job's reports, newest first, with the rock and the photos of all of them."""

    days: tuple[ReportedDay, ...]
    rock: tuple[PostRecord, ...]
    photos: tuple[JobPhoto, ...]
    posts_set: int

    @property
    def is_empty(self) -> bool:
        """Say whether nothing was reported yet."""
        return not (self.days or self.rock or self.photos)


def crew_and_job(
    person: User, *, crew_pk: int, job_pk: int, day: dt.date, today: dt.date
) -> tuple[Crew, FenceJob] | None:
    """Return the crew and the job whose day this person may report, or None: 404.

    A crew lead reports for an own crew, at a job it is or was sent to; owner and office for any.
    """
    if not FIRST_DAY <= day <= today:
        return None
    crew = crews_within_reach(person).filter(pk=crew_pk).first()
    job = (
        FenceJob.objects.select_related("customer", "site")
        .prefetch_related("phases")
        .filter(pk=job_pk)
        .first()
    )
    if crew is None or job is None:
        return None
    if person.role == Role.CREW_LEAD and not _was_sent(crew, job):
        return None
    return crew, job


def _was_sent(crew: Crew, job: FenceJob) -> bool:
    days = CrewDay.objects.filter(job=job, crew=crew).values("pk")
    reports = DayReport.objects.filter(job=job, crew=crew).values("pk")
    return days.union(reports, all=True).exists()


def days_without_hours(person: User, *, today: dt.date, crew: int | None = None) -> list[CrewDay]:
    """Return one block of each job's day, of the two weeks behind us, that has no hours yet."""
    written = HoursWorked.objects.filter(
        report__job=OuterRef("job"), report__crew=OuterRef("crew"), report__date=OuterRef("date")
    )
    rows = (
        crew_days_within_reach(person)
        .filter(~Exists(written), date__gte=today - LOOKED_BACK, date__lt=today)
        .select_related("crew", "job__customer")
        .order_by("-date", "crew__name", "job")
    )
    if crew is not None:
        rows = rows.filter(crew=crew)
    return list({(row.date, row.crew_id, row.job_id): row for row in rows}.values())


def posts_of(job: FenceJob) -> tuple[SheetPost, ...]:
    """Return the posts of a job's newest layout by number; none where the work has no layout."""
    string = StringSetting(
        side=job.string_side, offset_in=job.string_offset_in, height_in=job.string_height_in
    )
    sheet = build_sheet(job.proposal_id, string=string, with_plan=False)
    if sheet is None:
        return ()
    by_number = {post.number: post for line in sheet.lines for post in line.posts}
    return tuple(by_number[number] for number in sorted(by_number))


def report_of(job: FenceJob, crew: Crew, day: dt.date) -> DayReport | None:
    """Return what a crew reported of a day at a job."""
    found = DayReport.objects.filter(job=job, crew=crew, date=day)
    return found.prefetch_related("hours").first()


def posts_view(job: FenceJob, report: DayReport | None, posts: Sequence[SheetPost]) -> PostsView:
    """Return how the posts stand, what happens next, and whether to ring the office."""
    records = {row.number: row for row in job.post_records.select_related("report")}
    ticks = tuple(_tick(post, records.get(post.number), report) for post in posts)
    phases = JobPhase.objects.filter(job=job, finished_on__isnull=False)
    return PostsView(
        ticks=ticks,
        set_here=tuple(tick.post.number for tick in ticks if tick.is_set and not tick.is_fixed),
        left=tuple(tick.post.number for tick in ticks if not tick.is_set),
        finished_phases=tuple(phases.values_list("pk", flat=True)),
        hang_words=hang_sentence(job),
        hints=tuple(_hints(report, ticks, records.values())),
        poured_at=report.poured_at if report else None,
        is_air_unknown=report is not None and _is_air_unknown(report),
    )


def _is_air_unknown(report: DayReport) -> bool:
    """Say whether nobody wrote down the air of a pour: neither the crew nor the office."""
    if report.poured_at is None or report.air_f is not None:
        return False
    return not air_since(report.date).knows(report.date)


def _tick(post: SheetPost, record: PostRecord | None, report: DayReport | None) -> PostTick:
    if record is None or record.set_at is None:
        return PostTick(post=post, is_set=False, set_on=None)
    is_here = report is not None and record.report_id == report.pk
    return PostTick(post=post, is_set=True, set_on=None if is_here else record.report.date)


def _hints(
    report: DayReport | None, ticks: Sequence[PostTick], records: Iterable[PostRecord]
) -> list[str]:
    hints: list[str] = []
    here = [tick.post for tick in ticks if tick.is_set and not tick.is_fixed and tick.post.bags]
    planned = Decimal(str(sum(post.bags for post in here)))
    used = report.bags_used if report else None
    if used is not None and planned and used > planned * Decimal(str(MOST_BAGS_TO_PLAN)):
        hints.append(
            Said(
                "{used} bags a post, {planned} were planned: ring the office before the next "
                "holes.",
                used=f"{used / len(here):.1f}",
                planned=f"{planned / len(here):.1f}",
            )
        )
    numbers = {tick.post.number for tick in ticks}
    rock = sum(1 for row in records if row.met_rock and row.number in numbers)
    if numbers and rock > MOST_ROCK * len(numbers):
        hints.append(
            Said(
                "Rock in {rock} of {holes} holes: ring the office before digging on.",
                rock=rock,
                holes=len(numbers),
            )
        )
    return hints


def rock_of(job: FenceJob) -> list[PostRecord]:
    """Return the posts of a job where rock was met."""
    return list(job.post_records.filter(met_rock=True).select_related("report"))


def photos_within_reach(person: User) -> QuerySet[JobPhoto]:
    """Return the photos a person may see: a crew lead those of own crews, and of no crew."""
    photos = JobPhoto.objects.all()
    if person.role != Role.CREW_LEAD:
        return photos
    own_crews = Q(report__crew__in=crews_within_reach(person))
    no_crew = Q(report__isnull=True, job__in=jobs_within_reach(person))
    return photos.filter(own_crews | no_crew)


def photos_of_report(report: DayReport | None) -> list[JobPhoto]:
    """Return the photos of a day's report, oldest first."""
    return list(report.photos.order_by("pk")) if report else []


def reported(job: FenceJob, person: User) -> ReportedJob:
    """Return what was reported of a job: to a crew lead what own crews did."""
    reports = job.reports.select_related("crew", "reported_by").prefetch_related(
        "hours__member", "hours__phase"
    )
    records = job.post_records.select_related("report__crew")
    if person.role == Role.CREW_LEAD:
        crews = crews_within_reach(person)
        reports = reports.filter(crew__in=crews)
        records = records.filter(report__crew__in=crews)
    rows = list(records)
    return ReportedJob(
        days=tuple(_reported_day(report) for report in reports),
        rock=tuple(row for row in rows if row.met_rock),
        photos=tuple(photos_within_reach(person).filter(job=job).order_by("-pk")),
        posts_set=sum(1 for row in rows if row.set_at is not None),
    )


def _reported_day(report: DayReport) -> ReportedDay:
    hours = tuple(
        ReportedHours(row=row, worked_h=Decimal(row.worked_min) / MINUTES_PER_HOUR)
        for row in report.hours.all()
    )
    return ReportedDay(
        report=report, hours=hours, worked_h=sum((each.worked_h for each in hours), Decimal(0))
    )
