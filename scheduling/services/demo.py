"""What the demo firm shows of its jobs: one dug today, one in fresh concrete, one barred, one paid.

All of it goes through the services that people's clicks go through, each at its own hour.
"""

import datetime as dt
import tomllib
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.utils import timezone

from estimating.services.acceptances import MAKE_JOB
from estimating.services.demo import Cast
from firm.models import Clearance, Job, JobSite, User
from firm.services.clearances import add_utility_answer, change_clearance
from firm.services.jobs import run_job
from scheduling.models import FenceJob, JobPhase
from scheduling.services.crews import add_crew, add_machine, add_member
from scheduling.services.demo_buying import show_buying
from scheduling.services.demo_days import (
    end_and_get_paid,
    place_from,
    receive_deposit,
    work_until_today,
    working_day_before,
)
from scheduling.services.demo_people import show_people
from scheduling.services.demo_weather import (
    show_air,
    show_promise,
    show_rain,
    show_usual_air,
)
from scheduling.services.job_details import set_material
from scheduling.services.jobs import BUILT_FROM_MATERIAL

DEMO_FILE = Path(__file__).parent.parent / "data" / "demo.toml"
CREWS_SINCE_DAYS = 50
MATERIAL_BEFORE = dt.timedelta(days=3)
ASKED_BEFORE = dt.timedelta(days=6)
SETTLED_BEFORE = dt.timedelta(days=2)
SEVEN = dt.time(7)
ONE_DAY = dt.timedelta(days=1)
BUILT_FROM = tuple(sorted(BUILT_FROM_MATERIAL))


def show_crews_and_jobs(cast: Cast) -> None:
    """Make the jobs of what was accepted, two crews, and let each job happen as far as it goes."""
    demo = tomllib.loads(DEMO_FILE.read_text(encoding="utf-8"))
    for job in Job.objects.filter(kind=MAKE_JOB):
        # No worker runs yet when the demo is loaded.
        run_job(job_id=job.pk, now=job.due_at)
    people = {person.username: person for person in User.objects.all()}
    for values in demo["crews"]:
        _add_crew(values, people, cast)
    for values in demo["machines"]:
        add_machine(actor=cast.office, values=values, at=cast.ago(CREWS_SINCE_DAYS))
    show_usual_air(demo["weather"], cast)
    show_air(demo["weather"], cast)
    for story in demo["jobs"]:
        _play(story, cast)
    _let_the_ticket_wait(demo["waits_for_its_ticket"], cast)
    show_buying(demo, cast)
    show_people(demo, cast)
    show_promise(demo["promise"], cast)
    show_rain(demo["weather"], cast)


def _let_the_ticket_wait(story: Mapping[str, Any], cast: Cast) -> None:
    """Settle all else, so that the one paper that bars the digging is the ticket."""
    job = FenceJob.objects.select_related("site").get(customer__name=story["customer"])
    day = timezone.localdate(cast.ago(story["settled_days_ago"]))
    receive_deposit(job, day, cast)
    # Its posts are here; the rest is on a purchase order.
    _receive_material(job, day, cast, kinds=[JobPhase.Kind.SET])
    if job.site is None:
        return
    for clearance in job.site.clearances.exclude(state=Clearance.State.NOT_NEEDED).exclude(
        kind=Clearance.Kind.LOCATE
    ):
        change_clearance(
            actor=cast.office,
            clearance=clearance,
            values={"state": Clearance.State.CLEAR, "asked_on": day},
            at=cast.at(day, 10),
        )


def _play(story: Mapping[str, Any], cast: Cast) -> None:
    job = FenceJob.objects.select_related("site").get(
        customer__name=story["customer"], state=FenceJob.State.TO_DO
    )
    starts_on = working_day_before(timezone.localdate(cast.now), story["starts"])
    if job.site is not None:
        _settle(story, job.site, starts_on, cast)
    receive_deposit(job, starts_on - SETTLED_BEFORE, cast)
    _receive_material(job, starts_on - MATERIAL_BEFORE, cast)
    place_from(story, job, starts_on, cast)
    work_until_today(story, job, starts_on, cast)
    if "said" in story:
        end_and_get_paid(story, job, cast)


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


def _receive_material(
    job: FenceJob, day: dt.date, cast: Cast, *, kinds: Sequence[str] = BUILT_FROM
) -> None:
    phases = job.phases.filter(needs_material=True, kind__in=kinds)
    for phase in phases.select_related("job"):
        set_material(
            phase=phase,
            is_needed=True,
            promised_on=day,
            received_on=day,
            actor=cast.office,
            now=cast.at(day, 11),
        )


def _settle(story: Mapping[str, Any], site: JobSite, starts_on: dt.date, cast: Cast) -> None:
    """Settle every paper of a site, its locate ticket with each utility's own answer."""
    asked_on, settled_on = starts_on - ASKED_BEFORE, starts_on - SETTLED_BEFORE
    untouched = site.clearances.exclude(state=Clearance.State.NOT_NEEDED)
    for clearance in untouched.order_by("pk"):
        values: dict[str, Any] = {"state": Clearance.State.CLEAR, "asked_on": asked_on}
        if clearance.kind == Clearance.Kind.LOCATE:
            for utility, answer in story["utilities"].items():
                add_utility_answer(
                    actor=cast.office,
                    clearance=clearance,
                    values={"utility": utility, "answer": answer},
                    at=cast.at(settled_on, 9),
                )
            values |= {
                "number": story["ticket"],
                "clear_on": settled_on,
                "expires_on": starts_on + story["good_for_days"] * ONE_DAY,
            }
        change_clearance(
            actor=cast.office, clearance=clearance, values=values, at=cast.at(settled_on, 10)
        )
