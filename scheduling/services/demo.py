"""What the demo firm shows of its jobs: two crews, a job on the calendar, one that waits."""

import datetime as dt
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.utils import timezone

from estimating.services.acceptances import MAKE_JOB
from estimating.services.demo import Cast
from firm.models import Clearance, Job, JobSite, User
from firm.services.clearances import add_utility_answer, change_clearance
from firm.services.jobs import run_job
from scheduling.models import FenceJob
from scheduling.services.crews import add_crew, add_machine, add_member
from scheduling.services.job_details import set_material
from scheduling.services.placing import place_job

DEMO_FILE = Path(__file__).parent.parent / "data" / "demo.toml"
CREWS_SINCE_DAYS = 30
MATERIAL_SINCE_DAYS = 3
SEVEN = dt.time(7)
ONE_DAY = dt.timedelta(days=1)


def show_crews_and_jobs(cast: Cast) -> None:
    """Make the jobs of what was accepted, two crews, and give the settled job its days."""
    demo = tomllib.loads(DEMO_FILE.read_text(encoding="utf-8"))
    for job_id in Job.objects.filter(kind=MAKE_JOB).values_list("pk", flat=True):
        # No worker runs yet when the demo is loaded.
        run_job(job_id=job_id, now=cast.now)
    people = {person.username: person for person in User.objects.all()}
    for values in demo["crews"]:
        _add_crew(values, people, cast)
    for values in demo["machines"]:
        add_machine(actor=cast.office, values=values, at=cast.ago(CREWS_SINCE_DAYS))
    job = FenceJob.objects.select_related("site").get(
        customer__name=demo["settled"]["customer"], state=FenceJob.State.TO_DO
    )
    if job.site is not None:
        _settle(demo["settled"], job.site, cast)
    _receive_material(job, cast)
    # As it was placed yesterday, so that the crew goes out today.
    place_job(job=job, actor=cast.office, now=cast.ago(1))


def _add_crew(values: Mapping[str, Any], people: Mapping[str, User], cast: Cast) -> None:
    at = cast.ago(CREWS_SINCE_DAYS)
    crew = add_crew(
        actor=cast.owner,
        values={
            "name": values["name"],
            "lead": people[values["lead"]],
            "day_start": SEVEN,
            "hours_per_day": Decimal(values["hours_per_day"]),
        },
        at=at,
    )
    for person in values["people"]:
        cost = person.get("hourly_cost")
        add_member(
            actor=cast.owner,
            crew=crew,
            values={
                "name": person["name"],
                "user": people.get(person.get("log_in", "")),
                "hourly_cost": Decimal(cost) if cost else None,
            },
            at=at,
        )


def _receive_material(job: FenceJob, cast: Cast) -> None:
    at = cast.ago(MATERIAL_SINCE_DAYS)
    day = timezone.localdate(at)
    for phase in job.phases.filter(needs_material=True).select_related("job"):
        set_material(
            phase=phase,
            is_needed=True,
            promised_on=day,
            received_on=day,
            actor=cast.office,
            now=at,
        )


def _settle(settled: Mapping[str, Any], site: JobSite, cast: Cast) -> None:
    """Settle every paper of a site, its locate ticket with each utility's own answer."""
    asked_at = cast.ago(settled["asked_days_ago"])
    asked_on, today = timezone.localdate(asked_at), timezone.localdate(cast.now)
    untouched = site.clearances.exclude(state=Clearance.State.NOT_NEEDED)
    for clearance in untouched.order_by("pk"):
        values: dict[str, Any] = {"state": Clearance.State.CLEAR, "asked_on": asked_on}
        if clearance.kind == Clearance.Kind.LOCATE:
            for utility, answer in settled["utilities"].items():
                add_utility_answer(
                    actor=cast.office,
                    clearance=clearance,
                    values={"utility": utility, "answer": answer},
                    at=asked_at,
                )
            values |= {
                "number": settled["ticket"],
                "clear_on": today - ONE_DAY,
                "expires_on": today + settled["good_for_days"] * ONE_DAY,
            }
        change_clearance(actor=cast.office, clearance=clearance, values=values, at=cast.ago(2))
