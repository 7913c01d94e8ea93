"""Crews and their days on the calendar, for tests of scheduling and of who sees what."""

import datetime as dt
from decimal import Decimal

from estimating.models import Estimate
from firm.models import JobSite, User
from scheduling.models import Crew, CrewDay, CrewMember, FenceJob, JobPhase, Machine, RainDay
from tests.factories import NOW, TODAY, make_customer, make_site
from tests.job_cast import PHASES, make_fence_job, settle


def send_crew(lead: User, site: JobSite, *, on: dt.date = TODAY) -> FenceJob:
    """Return a job at a site, with a block on a day for a crew that this person leads."""
    job = make_fence_job(site, number=2001 + Estimate.objects.count())
    give_to_crew_of(lead, job, on=on)
    return job


def give_to_crew_of(lead: User, job: FenceJob, *, on: dt.date = TODAY) -> CrewDay:
    """Put a job's first phase on a day of the crew that this person leads."""
    crew, _ = Crew.objects.get_or_create(name=f"Crew of {lead.username}", lead=lead)
    return CrewDay.objects.create(
        job=job,
        phase=job.phases.all()[0],
        crew=crew,
        date=on,
        hours=Decimal(8),
        placed_at=NOW,
    )


def make_full_job(number: int, *, on: dt.date, **changes: object) -> FenceJob:
    """Return a job with six phases at a site of its own, settled for a dig on a day."""
    site = make_site(make_customer(name=f"Customer {number}"), street=f"{number} Larch Court")
    job = make_fence_job(site, number=number, **changes)
    job.phases.all().delete()
    JobPhase.objects.bulk_create(
        JobPhase(
            job=job,
            position=position,
            kind=kind,
            labor_hours=Decimal(hours),
            labour_cost=Decimal(amount),
        )
        for position, (kind, hours, amount) in enumerate(PHASES)
    )
    settle(site, on=on)
    return job


def put_on(
    job: FenceJob, kind: str, crew: Crew, on: dt.date, *, hours: str = "4", **changes: object
) -> CrewDay:
    """Put a phase of a job on a day of a crew, unchecked."""
    values: dict[str, object] = {
        "job": job,
        "phase": job.phases.get(kind=kind),
        "crew": crew,
        "date": on,
        "hours": Decimal(hours),
        "position": CrewDay.objects.filter(crew=crew, date=on).count(),
        "placed_at": NOW,
    }
    return CrewDay.objects.create(**(values | changes))


def may(day: int) -> dt.date:
    """Return a day of May 2026; Monday the 4th is the day of NOW."""
    return dt.date(2026, 5, day)


def make_red_crew() -> Crew:
    """Return a crew of two: 8 h a day from 7:00, Monday to Friday."""
    row = Crew.objects.create(name="Red crew")
    for name in ("Ada Quill", "Bo Tarn"):
        CrewMember.objects.create(crew=row, name=name)
    return row


def buy_auger(job: FenceJob) -> Machine:
    """Return the one machine that digs on this job's site."""
    assert job.site is not None
    return Machine.objects.create(name="Small auger", dig_method=job.site.dig_method)


def days_of(job: FenceJob) -> list[str]:
    """Return a job's blocks as day of the month, phase, start where given, hours."""
    return [
        f"{row.date.day} {row.phase.kind}{f' {row.start:%H:%M}' if row.start else ''} {row.hours}"
        for row in CrewDay.objects.filter(job=job).select_related("phase")
    ]


def rains(on: dt.date, rain_in: float) -> RainDay:
    """Write down so much rain for a day."""
    return RainDay.objects.create(
        date=on, rain_in=rain_in, source=RainDay.Source.FORECAST, entered_at=NOW
    )
