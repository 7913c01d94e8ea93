"""A job's own timeline: its phases, waits, papers, material and deadlines, from one reading."""

import datetime as dt
from collections.abc import Container, Iterable, Iterator, Sequence

from django.utils import timezone

from firm.measure.said import Said, joined
from scheduling.drawing.timeline import Bar, Look, Mark, Point, Row, Timeline
from scheduling.engine.plan import JobFacts, Timed, timed
from scheduling.engine.readiness import NAMES, STATE_WORDS
from scheduling.engine.standing import Kind, Paper, State, Ticket
from scheduling.engine.wording import dated_words, weekday_words
from scheduling.models import CrewDay, FenceJob, JobPhase
from scheduling.selectors.planning import CureSpan, job_waits
from scheduling.selectors.rain_outs import days_in_words

ONE_DAY = dt.timedelta(days=1)
BESIDE = 3 * ONE_DAY
LEAST = 14 * ONE_DAY
# A ticket's or a paper's end farther off than this is no matter of these days.
FAR = 21 * ONE_DAY


def job_timeline(job: FenceJob, *, now: dt.datetime) -> Timeline:
    """Return all that says when a job is built; as many queries as its page's days take."""
    waits, today = job_waits(job, now), timezone.localdate(now)
    facts = waits.plan.facts.jobs[str(job.pk)]
    blocks = [
        one for one in timed(waits.plan.blocks, waits.plan.facts) if one.block.job == str(job.pk)
    ]
    marks = list(_marks(facts, today))
    rows = [
        *_phase_rows(job, blocks, _against_a_rule(job, waits.plan.rows)),
        *_wait_rows(waits.spans),
        *_ticket_rows(facts.standing.tickets),
        *_paper_rows(facts.standing.papers),
        *_material_rows(job),
        *_inspection_rows(job),
        *_closed_rows(facts),
    ]
    first, last = _range(rows, marks, blocks, today)
    return Timeline(
        first=first,
        last=last,
        rows=rows,
        marks=marks,
        title=Said(
            "{job} from {first} to {last}; the table below says the same",
            job=job.said,
            first=_day(first),
            last=_day(last),
        ),
    )


def _range(
    rows: Iterable[Row], marks: Iterable[Mark], blocks: Sequence[Timed], today: dt.date
) -> tuple[dt.date, dt.date]:
    """Return the days to draw: all work, waits, material and deadlines, and ends that are near."""
    days = [today, *(one.on for one in marks), *(one.block.date for one in blocks)]
    days += [point.on for row in rows for point in row.points if point.on >= today]
    ends = [bar.ends_at for row in rows for bar in row.bars if bar.ends_at]
    latest = max(days)
    latest = max([latest, *(at.date() for at in ends if at.date() <= latest + FAR)])
    first = min(days) - BESIDE
    return first, max(latest + BESIDE, first + LEAST)


def _marks(facts: JobFacts, today: dt.date) -> Iterator[Mark]:
    yield Mark(on=today, name=Said("Today"), when=_day(today))
    if facts.not_before:
        yield Mark(on=facts.not_before, name=Said("Nobody before"), when=_day(facts.not_before))
    if facts.promised_on:
        yield Mark(
            on=facts.promised_on,
            name=Said("Promised for"),
            when=_day(facts.promised_on),
            is_due=True,
        )
    if facts.wanted_by:
        yield Mark(
            on=facts.wanted_by, name=Said("Wanted by"), when=_day(facts.wanted_by), is_due=True
        )


def _against_a_rule(job: FenceJob, rows: Iterable[CrewDay]) -> set[int]:
    """Return the job's phases that have a day which the owner placed against a rule."""
    return {row.phase_id for row in rows if row.job_id == job.pk and row.override_note}


def _phase_rows(
    job: FenceJob, blocks: Sequence[Timed], against_a_rule: Container[int]
) -> Iterator[Row]:
    for phase in job.phases.all():
        mine = [one for one in blocks if one.block.phase == phase.kind]
        days = sorted({one.block.date for one in mine})
        said = [days_in_words(days)] if days else []
        if phase.finished_on:
            said.append(Said("finished {day}", day=_day(phase.finished_on)))
        elif phase.pk in against_a_rule:
            said.append(Said("placed against a rule"))
        yield Row(
            name=Said(phase.get_kind_display()),
            when=joined(said, ", ") or Said("no day yet"),
            bars=[
                Bar(begins_at=one.starts_at, ends_at=one.ends_at, look=Look.WORK) for one in mine
            ],
        )


def _wait_rows(spans: Iterable[CureSpan]) -> Iterator[Row]:
    for span in spans:
        ready = timezone.localtime(span.ready_at) if span.ready_at else None
        begins = timezone.localtime(span.starts_at)
        bar = Bar(begins_at=begins, ends_at=ready, look=Look.WAIT)
        name = Said("{work} wait", work=Said(str(span.work).capitalize()))
        yield Row(name=name, when=_wait_words(span, ready), bars=[bar])


def _wait_words(span: CureSpan, ready: dt.datetime | None) -> str:
    if ready is None:
        return joined([Said("not for now."), span.brief])
    planned = "" if span.is_poured else Said("as planned")
    return joined([Said("not before {at}", at=dated_words(ready)), planned], ", ")


def _ticket_rows(tickets: Iterable[Ticket]) -> Iterator[Row]:
    for ticket in tickets:
        name = joined([Said("Locate ticket"), ticket.number])
        yield _window(name, ticket.state, ticket.clear_on, ticket.expires_on)


def _paper_rows(papers: Iterable[Paper]) -> Iterator[Row]:
    for paper in papers:
        is_of_use = paper.state != State.NOT_NEEDED and (
            paper.kind == Kind.PERMIT or paper.expires_on or paper.state != State.CLEAR
        )
        if is_of_use:
            name = joined([NAMES[paper.kind], paper.number])
            yield _window(name, paper.state, paper.clear_on, paper.expires_on)


def _window(name: str, state: State, first: dt.date | None, last: dt.date | None) -> Row:
    """Return a paper as a row: good from its first day to its last, where it is settled."""
    if state != State.CLEAR:
        return Row(name=name, when=STATE_WORDS.get(state, Said("not needed")))
    when = joined(
        [
            Said("from {day}", day=_day(first)) if first else "",
            Said("to {day}", day=_day(last)) if last else Said("without an end"),
        ]
    )
    begins = _midnight(first) if first else None
    ends = _midnight(last + ONE_DAY) if last else None
    bar = Bar(begins_at=begins, ends_at=ends, look=Look.WINDOW)
    return Row(name=name, when=when, bars=[bar])


def _material_rows(job: FenceJob) -> Iterator[Row]:
    for phase in job.phases.all():
        if not phase.needs_material or phase.finished_on:
            continue
        came, due = phase.material_received_on, phase.material_promised_on
        when = ""
        if came or due:
            words = "here since {day}" if came else "promised for {day}"
            when = Said(words, day=_day(came or due))
        day = came or due
        points = [Point(on=day, has_come=came is not None)] if day else []
        name = joined([Said("Material"), Said(JobPhase.Kind(phase.kind).label.lower())], ", ")
        yield Row(name=name, when=when or Said("no date promised"), points=points)


def _inspection_rows(job: FenceJob) -> Iterator[Row]:
    if not job.inspection_before_pour:
        return
    passed, booked = job.inspection_passed_on, job.inspection_booked_on
    when = ""
    if passed:
        when = Said("passed {day}", day=_day(passed))
    elif booked:
        when = Said("booked for {day}", day=_day(booked))
    day = passed or booked
    points = [Point(on=day, has_come=passed is not None)] if day else []
    yield Row(name=Said("Footing inspection"), when=when or Said("not booked"), points=points)


def _closed_rows(facts: JobFacts) -> Iterator[Row]:
    if not facts.closed_days:
        return
    days = sorted(facts.closed_days)
    bars = [
        Bar(begins_at=_midnight(day), ends_at=_midnight(day + ONE_DAY), look=Look.CLOSED)
        for day in days
    ]
    yield Row(name=Said("Customer wants nobody there"), when=days_in_words(days), bars=bars)


def _midnight(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(), tzinfo=timezone.get_current_timezone())


def _day(day: dt.date | None) -> str:
    return weekday_words(day) if day else ""
