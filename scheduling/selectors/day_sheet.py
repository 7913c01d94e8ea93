"""One job on one day of a crew: whether it may be dug, what it waits for, and what is built."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Prefetch, Q, QuerySet, prefetch_related_objects

from estimating.selectors.build_sheets import BuildSheet, StringSetting, build_sheet
from estimating.selectors.sold_fences import SoldFence
from firm.models import Clearance, FirmProfile, User, UtilityAnswer
from firm.selectors.profile import firm_at_the_phone
from scheduling.models import Crew, CrewDay, CrewMember, DayReport, FenceJob, JobPhase, PostRecord
from scheduling.selectors.cautions import cautions, override_caution
from scheduling.selectors.crew_languages import crew_language
from scheduling.selectors.days import TimedBlock, on_the_clock
from scheduling.selectors.dig import OPENS_GROUND, DigAnswer, dig_answer
from scheduling.selectors.hang_parts import HangPart, hang_parts
from scheduling.selectors.hanging import HangWaits, hang_waits
from scheduling.selectors.rain_bars import RainBar, rain_bar, rain_on
from scheduling.selectors.reach import is_within_reach
from scheduling.selectors.sheet_content import SheetContent, number_rows, sheet_content
from scheduling.selectors.sheet_papers import SheetPermit, SheetTicket, permits_of, tickets_of

HANG_DAY = frozenset({JobPhase.Kind.HANG, JobPhase.Kind.GATES})


@dataclass(frozen=True, kw_only=True, slots=True)
class DaySheet:
    """Everything the sheet of one job on one day shows but its layout."""

    crew: Crew
    people: Sequence[str]
    date: dt.date
    job: FenceJob
    blocks: Sequence[TimedBlock]
    dig: DigAnswer
    tickets: tuple[SheetTicket, ...]
    permits: tuple[SheetPermit, ...]
    hang: HangWaits
    firm: FirmProfile
    digs: bool
    pours: bool
    hangs: bool
    layout: BuildSheet | None
    content: SheetContent | None
    cautions: Sequence[str]
    string: StringSetting
    by_hand_only: bool
    language: str
    hang_parts: Sequence[HangPart] = ()
    rain: RainBar | None = None
    posts_set: Sequence[int] = ()

    @property
    def set_rows(self) -> str:
        """The numbers of the posts that stand already, in rows: '2-8'."""
        return number_rows(self.posts_set)

    @property
    def has_posts_left(self) -> bool:
        """Say whether a post of the layout is still to be set."""
        return self.content is not None and len(self.posts_set) < self.content.post_count

    @property
    def shows_posts(self) -> bool:
        """Say whether the day needs the posts: always, but on a day of hanging alone."""
        return self.digs or self.pours or not self.hangs

    @property
    def shows_bays(self) -> bool:
        """Say whether the day needs the bays and gates."""
        return self.hangs

    @property
    def marked(self) -> Sequence[str]:
        """The utilities that put marks on the ground."""
        return [
            answer.utility
            for ticket in self.tickets
            for answer in ticket.answers
            if answer.answer == UtilityAnswer.Answer.MARKED
        ]

    @property
    def inspections(self) -> str:
        """How the place asks for the inspection that comes before the concrete, if one does."""
        site = self.job.site
        if not self.job.inspection_before_pour or site is None or site.jurisdiction is None:
            return ""
        return site.jurisdiction.inspections

    @property
    def starts_at(self) -> dt.datetime:
        """When the crew begins here."""
        return self.blocks[0].starts_at

    @property
    def ends_at(self) -> dt.datetime:
        """When the crew is meant to be done here."""
        return self.blocks[-1].ends_at

    @property
    def phase_names(self) -> Sequence[str]:
        """What is done here that day."""
        return [block.name for block in self.blocks]

    @property
    def machines(self) -> Sequence[str]:
        """The machines that come along."""
        return sorted({str(block.row.machine) for block in self.blocks if block.row.machine})

    @property
    def hangs_later(self) -> Sequence[str]:
        """Name what the concrete does not yet carry when the day's work ends."""
        spans = self.hang.spans
        return [one.work for one in spans if one.ready_at is None or one.ready_at > self.ends_at]

    @property
    def hangs_too_early(self) -> Sequence[str]:
        """Say which of the day's work green concrete forbids, all of it."""
        return [
            block.name
            for block in self.blocks
            if block.row.phase.kind in HANG_DAY and self._is_too_early(block)
        ]

    @property
    def hangs_in_part(self) -> bool:
        """Say whether a part of the day's work may not hang yet, or only later in the day."""
        return not all(part.is_whole for part in self.hang_parts)

    def _is_too_early(self, block: TimedBlock) -> bool:
        """Say whether no post carries the block's work; each pour counts where they differ."""
        parts = [part for part in self.hang_parts if part.kind == block.row.phase.kind]
        if parts:
            return not any(part.now for part in parts)
        return self.hang.forbids(block.row.phase.kind, block.starts_at)


def day_sheet_of(
    person: User,
    *,
    crew: int,
    date: dt.date,
    job: int,
    now: dt.datetime,
    version: int | None = None,
    on_paper: bool = False,
    language: str = "",
) -> DaySheet | None:
    """Return the sheet of a job on a crew's day, or None where the person has no such day.

    None as well where a version of the layout is asked for that does not exist. It speaks the
    language asked for, else that of the person in the crew, else the crew's.
    """
    firm = firm_at_the_phone()  # first: with it the firm's units are known
    known = _days(crew, date, job)
    rows = [row for row in known if row.crew_id == crew and row.date == date]
    prefetch_related_objects([row.crew for row in rows[:1]], _members())
    if not rows or not is_within_reach(rows[0].crew, person):
        return None
    blocks = [block for block in on_the_clock(rows) if block.row.job_id == job]
    if not blocks:
        return None
    found = _jobs().get(pk=job)
    string = _string(found)
    layout = build_sheet(found.proposal_id, string=string, version=version, on_paper=on_paper)
    if version is not None and layout is None:
        return None
    content = sheet_content(layout) if layout else None
    kinds = {block.row.phase.kind for block in blocks}
    digs, pours = bool(kinds & OPENS_GROUND), JobPhase.Kind.SET in kinds
    hangs = bool(kinds & HANG_DAY)
    by_hand_only = found.site is not None and found.site.dig_method == "hand"
    mine = [row for row in known if row.job_id == job]
    waits = hang_waits(found, _sold(layout), days=mine, of_one_day=rows)
    spoken = crew_language(rows[0].crew, person, asked=language)
    return DaySheet(
        crew=rows[0].crew,
        people=_people(rows[0].crew),
        date=date,
        job=found,
        blocks=blocks,
        dig=dig_answer(found, date=date, now=now),
        tickets=tickets_of(_clearances(found)),
        permits=permits_of(_clearances(found)),
        hang=waits,
        hang_parts=hang_parts(waits.pours, layout, blocks) if hangs else (),
        rain=rain_bar(rain_on(date), (block.row for block in blocks)),
        posts_set=_posts_set(found, layout),
        firm=firm,
        digs=digs,
        pours=pours,
        hangs=hangs,
        layout=layout,
        content=content,
        string=string,
        by_hand_only=by_hand_only,
        language=spoken,
        cautions=[
            *(override_caution(each.row, spoken) for each in blocks if each.row.override_note),
            *cautions(
                digs=digs, pours=pours, hangs=hangs, content=content, by_hand_only=by_hand_only
            ),
        ],
    )


def _posts_set(job: FenceJob, layout: BuildSheet | None) -> list[int]:
    """Return the posts of the layout that reports have ticked as set."""
    if layout is None:
        return []
    drawn = {post.number for line in layout.lines for post in line.posts}
    records = PostRecord.objects.filter(job=job, set_at__isnull=False)
    return sorted(drawn & set(records.values_list("number", flat=True)))


def _sold(layout: BuildSheet | None) -> SoldFence:
    """Return what hangs on the posts; work without a layout may stand in concrete all the same."""
    if layout is None:
        return SoldFence()
    built = [line for line in layout.lines if line.scope != "removal"]
    return SoldFence(
        has_fabric=any(line.family == "fabric" for line in built),
        has_concrete=layout.has_concrete,
    )


def _members() -> Prefetch[str, QuerySet[CrewMember]]:
    shown = CrewMember.objects.only("crew", "name", "user", "language", "is_active")
    return Prefetch("members", queryset=shown.order_by("name"))


def _days(crew: int, date: dt.date, job: int) -> list[CrewDay]:
    """Return all that the crew does on the day, and every day of the job, in their order."""
    return list(
        CrewDay.objects.filter(Q(crew=crew, date=date) | Q(job=job))
        .select_related("phase", "crew", "machine")
        .order_by("date", "crew_id", "position", "pk")
    )


def _jobs() -> QuerySet[FenceJob]:
    clearances = Clearance.objects.order_by("pk").prefetch_related("answers")
    pours = DayReport.objects.filter(poured_at__isnull=False).order_by("-date", "-pk")
    return FenceJob.objects.select_related("customer", "site").prefetch_related(
        Prefetch("site__clearances", queryset=clearances),
        Prefetch("reports", queryset=pours.only("job", "poured_at", "mix", "air_f")),
        Prefetch("phases", queryset=JobPhase.objects.order_by("position")),
    )


def _string(job: FenceJob) -> StringSetting:
    return StringSetting(
        side=job.string_side, offset_in=job.string_offset_in, height_in=job.string_height_in
    )


def _people(crew: Crew) -> list[str]:
    return [member.name for member in crew.members.all() if member.is_active]


def _clearances(job: FenceJob) -> Iterable[Clearance]:
    return job.site.clearances.all() if job.site else ()
