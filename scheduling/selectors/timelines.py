"""A job's own timeline: its phases, waits, papers, material and deadlines, from one reading."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from django.utils import timezone

from scheduling.drawing.timeline import Bar, Look, Mark, Point, Row, Timeline
from scheduling.engine.plan import JobFacts, Timed, timed
from scheduling.engine.readiness import NAMES, STATE_WORDS
from scheduling.engine.standing import Kind, Paper, State, Ticket
from scheduling.engine.wording import dated_words
from scheduling.models import FenceJob, JobPhase
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
        *_phase_rows(job, blocks),
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
        title=f"{job} from {_day(first)} to {_day(last)}; the table below says the same",
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
    yield Mark(on=today, name="Today", when=_day(today))
    if facts.not_before:
        yield Mark(on=facts.not_before, name="Nobody before", when=_day(facts.not_before))
    if facts.promised_on:
        yield Mark(
            on=facts.promised_on, name="Promised for", when=_day(facts.promised_on), is_due=True
        )
    if facts.wanted_by:
        yield Mark(on=facts.wanted_by, name="Wanted by", when=_day(facts.wanted_by), is_due=True)


def _phase_rows(job: FenceJob, blocks: Sequence[Timed]) -> Iterator[Row]:
    for phase in job.phases.all():
        mine = [one for one in blocks if one.block.phase == phase.kind]
        days = sorted({one.block.date for one in mine})
        said = [days_in_words(days)] if days else []
        if phase.finished_on:
            said.append(f"finished {_day(phase.finished_on)}")
        yield Row(
            name=str(phase.get_kind_display()),
            when=", ".join(said) or "no day yet",
            bars=[
                Bar(begins_at=one.starts_at, ends_at=one.ends_at, look=Look.WORK) for one in mine
            ],
        )


def _wait_rows(spans: Iterable[CureSpan]) -> Iterator[Row]:
    for span in spans:
        ready = timezone.localtime(span.ready_at) if span.ready_at else None
        when = f"not before {dated_words(ready)}" if ready else f"not for now. {span.brief}"
        begins = timezone.localtime(span.starts_at)
        bar = Bar(begins_at=begins, ends_at=ready, look=Look.WAIT)
        planned = ", as planned" if ready and not span.is_poured else ""
        yield Row(name=f"{span.work.capitalize()} wait", when=f"{when}{planned}", bars=[bar])


def _ticket_rows(tickets: Iterable[Ticket]) -> Iterator[Row]:
    for ticket in tickets:
        name = f"Locate ticket {ticket.number}".strip()
        yield _window(name, ticket.state, ticket.clear_on, ticket.expires_on)


def _paper_rows(papers: Iterable[Paper]) -> Iterator[Row]:
    for paper in papers:
        is_of_use = paper.state != State.NOT_NEEDED and (
            paper.kind == Kind.PERMIT or paper.expires_on or paper.state != State.CLEAR
        )
        if is_of_use:
            name = f"{NAMES[paper.kind]} {paper.number}".strip()
            yield _window(name, paper.state, paper.clear_on, paper.expires_on)


def _window(name: str, state: State, first: dt.date | None, last: dt.date | None) -> Row:
    """Return a paper as a row: good from its first day to its last, where it is settled."""
    if state != State.CLEAR:
        return Row(name=name, when=STATE_WORDS.get(state, "not needed"))
    when = " ".join(
        [f"from {_day(first)}" if first else "", f"to {_day(last)}" if last else "without an end"]
    )
    begins = _midnight(first) if first else None
    ends = _midnight(last + ONE_DAY) if last else None
    bar = Bar(begins_at=begins, ends_at=ends, look=Look.WINDOW)
    return Row(name=name, when=when.strip(), bars=[bar])


def _material_rows(job: FenceJob) -> Iterator[Row]:
    for phase in job.phases.all():
        if not phase.needs_material or phase.finished_on:
            continue
        came, due = phase.material_received_on, phase.material_promised_on
        when = f"here since {_day(came)}" if came else f"promised for {_day(due)}" if due else ""
        day = came or due
        points = [Point(on=day, has_come=came is not None)] if day else []
        name = f"Material, {JobPhase.Kind(phase.kind).label.lower()}"
        yield Row(name=name, when=when or "no date promised", points=points)


def _inspection_rows(job: FenceJob) -> Iterator[Row]:
    if not job.inspection_before_pour:
        return
    passed, booked = job.inspection_passed_on, job.inspection_booked_on
    when = f"passed {_day(passed)}" if passed else f"booked for {_day(booked)}" if booked else ""
    day = passed or booked
    points = [Point(on=day, has_come=passed is not None)] if day else []
    yield Row(name="Footing inspection", when=when or "not booked", points=points)


def _closed_rows(facts: JobFacts) -> Iterator[Row]:
    if not facts.closed_days:
        return
    days = sorted(facts.closed_days)
    bars = [
        Bar(begins_at=_midnight(day), ends_at=_midnight(day + ONE_DAY), look=Look.CLOSED)
        for day in days
    ]
    yield Row(name="Customer wants nobody there", when=days_in_words(days), bars=bars)


def _midnight(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(), tzinfo=timezone.get_current_timezone())


def _day(day: dt.date | None) -> str:
    return f"{day:%a %b} {day.day}" if day else ""
