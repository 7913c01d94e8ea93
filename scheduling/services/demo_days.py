"""The days of the demo's jobs: placed, reported by their crews, signed for and paid."""

import datetime as dt
import math
from collections.abc import Iterator, Mapping
from decimal import Decimal
from itertools import groupby
from typing import Any

from django.utils import timezone

from estimating.selectors.invoices import contract_of
from estimating.services.demo import Cast
from estimating.services.invoices import draft_balance_invoice, issue_invoice
from estimating.services.payments import add_payment
from firm.errors import Refusal
from scheduling.models import Crew, CrewDay, FenceJob, JobPhase
from scheduling.selectors.reports import posts_of
from scheduling.services.completion import finish_job
from scheduling.services.crew_days import add_crew_day
from scheduling.services.placing import place_job
from scheduling.services.report_entries import (
    DayEntry,
    HoursEntry,
    PhaseTicks,
    PostTicks,
    ReportEntry,
    RockEntry,
)
from scheduling.services.reports import save_report

ONE_DAY = dt.timedelta(days=1)
SATURDAY = 5
# After the crews' day and before midnight: what they report lies behind them.
EVENING = 18
# A name drawn with a finger, as the phone keeps it.
STROKES = [[[60, 300], [140, 120], [220, 300], [300, 140], [420, 280]], [[470, 300], [760, 240]]]


def working_day_before(today: dt.date, count: int) -> dt.date:
    """Return the nth day from Monday to Friday before a day."""
    day = today
    for _ in range(count):
        day -= ONE_DAY
        while day.weekday() >= SATURDAY:
            day -= ONE_DAY
    return day


def working_day_after(day: dt.date, count: int) -> dt.date:
    """Return the nth day from Monday to Friday after a day."""
    for _ in range(count):
        day += ONE_DAY
        while day.weekday() >= SATURDAY:
            day += ONE_DAY
    return day


def receive_deposit(job: FenceJob, day: dt.date, cast: Cast) -> None:
    """Write down the first payment that the proposal asks for."""
    contract = contract_of(job.proposal_id, today=day)
    first = contract.proposal.payments.order_by("position").first() if contract else None
    if first is not None:
        _pay(job, first.amount, day, cast)


def place_from(story: Mapping[str, Any], job: FenceJob, day: dt.date, cast: Cast) -> None:
    """Place a job as the office did the day before; its crew, where named, by hand."""
    now = cast.at(day - ONE_DAY, EVENING)
    if "crew" in story:
        crew = Crew.objects.get(name=story["crew"])
        _put(job, JobPhase.Kind.LAYOUT, crew, day, cast, now=now)
        if story.get("pours", 1) > 1:
            _put(job, JobPhase.Kind.DIG, crew, day, cast, now=now)
            for number in range(story["pours"]):
                on = working_day_after(day, number)
                _put(job, JobPhase.Kind.SET, crew, on, cast, now=now, parts=story["pours"])
    place_job(job=job, actor=cast.office, now=now)


def _put(
    job: FenceJob,
    kind: str,
    crew: Crew,
    day: dt.date,
    cast: Cast,
    *,
    now: dt.datetime,
    parts: int = 1,
) -> None:
    """Put a phase, or one of so many equal parts of it, on a crew's day by hand."""
    phase = job.phases.get(kind=kind)
    hours = phase.labor_hours / crew.members.count() / parts
    values = {
        "phase": phase,
        "crew": crew,
        "date": day,
        # The next whole quarter of an hour.
        "hours": Decimal(math.ceil(hours * 4)) / 4,
        "start": None,
        "air_f": None,
    }
    add_crew_day(job=job, values=values, actor=cast.office, now=now)


def work_until_today(story: Mapping[str, Any], job: FenceJob, day: dt.date, cast: Cast) -> None:
    """Let the crews do and report each day before today, and place the rest after a pour."""
    while day < timezone.localdate(cast.now):
        blocks = CrewDay.objects.filter(job=job, date=day).order_by("crew", "position")
        rows = blocks.select_related("crew__lead", "phase")
        for crew, mine in groupby(rows, key=lambda row: row.crew):
            _report(story, job, crew, list(mine), cast)
        if any(row.phase.kind == JobPhase.Kind.SET for row in rows):
            place_job(job=job, actor=cast.office, now=cast.at(day, EVENING))
        day += ONE_DAY


def end_and_get_paid(story: Mapping[str, Any], job: FenceJob, cast: Cast) -> None:
    """Take the customer's signature on the last day; send the balance, and write it down as paid.

    Raises:
        Refusal: the work is not over before today.
    """
    last = job.reports.order_by("-date").first()
    if last is None or job.phases.filter(finished_on=None).exists():
        raise Refusal(f"The demo's {job} is not built before today.")
    now = cast.at(last.date, EVENING)
    finish_job(
        job=job,
        signed_name=job.customer.name,
        strokes=STROKES,
        remarks=story["said"],
        actor=last.crew.lead,
        now=now,
    )
    draft = draft_balance_invoice(proposal_id=job.proposal_id, actor=cast.office, now=now)
    if draft is None:
        raise Refusal(f"The demo's {job} has no balance to ask for.")
    sent = issue_invoice(invoice=draft, to="", actor=cast.office, now=now)
    paid_on = last.date + story["paid_after_days"] * ONE_DAY
    _pay(job, sent.amount, paid_on, cast, invoice=sent)


def _pay(
    job: FenceJob, amount: Decimal, day: dt.date, cast: Cast, *, invoice: object = None
) -> None:
    add_payment(
        proposal_id=job.proposal_id,
        values={
            "amount": amount,
            "received_on": day,
            "way": "check",
            "reference": "",
            "invoice": invoice,
        },
        actor=cast.office,
        now=cast.at(day, EVENING),
    )


def _report(
    story: Mapping[str, Any], job: FenceJob, crew: Crew, blocks: list[CrewDay], cast: Cast
) -> None:
    date = blocks[0].date
    ended = {row.phase_id for row in blocks if not _goes_on(row)}
    pour = next((row for row in blocks if row.phase.kind == JobPhase.Kind.SET), None)
    spans = list(_spans(blocks))
    poured_at = next((end for row, _, end in spans if row == pour), None)
    digs = any(row.phase.kind == JobPhase.Kind.DIG for row in blocks)
    rock = story.get("rock") if digs else None
    save_report(
        job=job,
        crew=crew,
        date=date,
        entry=ReportEntry(
            day=DayEntry(
                pour_time=poured_at,
                air_f=story["air_f"] if pour else None,
                remarks=" ".join(
                    text
                    for kind, text in story["remarks"].items()
                    if any(row.phase.kind == kind for row in blocks)
                ),
            ),
            posts=_ticks(job, pour),
            phases=PhaseTicks(finished=frozenset(ended)),
            hours=tuple(_hours(crew, spans)),
            rock=(_rock(rock),) if rock else (),
        ),
        actor=crew.lead,
        now=cast.at(date, EVENING),
    )


def _ticks(job: FenceJob, pour: CrewDay | None) -> PostTicks:
    """Tick the posts in order, as many as the hours planned for setting allow so far."""
    if pour is None:
        return PostTicks()
    if not _goes_on(pour):
        return PostTicks(all_set=True)
    rows = list(CrewDay.objects.filter(phase=pour.phase_id))
    so_far = sum(row.hours for row in rows if row.date <= pour.date)
    posts = posts_of(job)
    count = int(len(posts) * so_far / sum(row.hours for row in rows))
    return PostTicks(newly_set=frozenset(post.number for post in posts[: max(count, 1)]))


def _goes_on(row: CrewDay) -> bool:
    return CrewDay.objects.filter(phase=row.phase_id, date__gt=row.date).exists()


def _spans(blocks: list[CrewDay]) -> Iterator[tuple[CrewDay, dt.time, dt.time]]:
    """Yield when each block of a crew's day was worked: just as it was planned."""
    clock = dt.datetime.combine(blocks[0].date, blocks[0].crew.day_start)
    for row in blocks:
        if row.start is not None:
            clock = dt.datetime.combine(row.date, row.start)
        ends = clock + dt.timedelta(hours=float(row.hours))
        yield row, clock.time(), ends.time()
        clock = ends


def _hours(crew: Crew, spans: list[tuple[CrewDay, dt.time, dt.time]]) -> Iterator[HoursEntry]:
    number = 0
    for member in crew.members.all():
        for row, started, ended in spans:
            yield HoursEntry(
                row=number, member=member.pk, started=started, ended=ended, phase=row.phase_id
            )
            number += 1


def _rock(rock: Mapping[str, Any]) -> RockEntry:
    return RockEntry(
        row=0, post_number=rock["post"], depth_in=rock["depth_in"], minutes=rock["minutes"]
    )
