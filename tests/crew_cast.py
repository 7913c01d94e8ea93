"""Crews and their days on the calendar, for tests of scheduling and of who sees what."""

import datetime as dt
from decimal import Decimal

from estimating.models import Estimate
from firm.models import JobSite, User
from scheduling.models import Crew, CrewDay, FenceJob
from tests.factories import NOW, TODAY
from tests.job_cast import make_fence_job


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
