"""Making a job of what was sold, once, and calling one off."""

import datetime as dt

from django.db import IntegrityError, transaction

from estimating.selectors.accepted import AcceptedWork, accepted_work
from firm.errors import Refusal
from firm.models import Jurisdiction, User
from firm.services import audit
from firm.services.jobs import JobRun
from firm.services.saving import change_row, locked
from scheduling.models import FenceJob, JobPhase
from scheduling.services.calendar_rows import clear_future_blocks
from scheduling.services.material_dates import dates_follow_calendar

# Posts and concrete, rails and panels, gates with their hardware.
BUILT_FROM_MATERIAL = frozenset({JobPhase.Kind.SET, JobPhase.Kind.HANG, JobPhase.Kind.GATES})


def make_job(*, proposal_id: int, now: dt.datetime) -> FenceJob:
    """Return the job of an accepted proposal, made by this call or by an earlier one.

    Two workers at once make one: the second is refused by the database and takes the first's.

    Raises:
        Refusal: the proposal is not accepted.
    """
    standing = FenceJob.objects.filter(proposal=proposal_id).first()
    if standing is not None:
        return standing
    work = accepted_work(proposal_id)
    if work is None:
        raise Refusal("Only an accepted proposal becomes a job.")
    try:
        return _add_job(work, now=now)
    except IntegrityError:
        made_meanwhile = FenceJob.objects.filter(proposal=proposal_id).first()
        if made_meanwhile is None:
            raise
        return made_meanwhile


@transaction.atomic
def _add_job(work: AcceptedWork, *, now: dt.datetime) -> FenceJob:
    job = FenceJob.objects.create(
        proposal_id=work.proposal_id,
        number=work.number,
        revision=work.revision,
        title=work.title,
        customer_id=work.customer_id,
        site_id=work.site_id,
        signed_at=work.accepted_at,
        cancellation_ends_at=work.cancellation_ends_at,
        price_before_tax=work.price_before_tax,
        sales_tax=work.sales_tax,
        direct_cost=work.direct_cost,
        overhead=work.overhead,
        commission=work.commission,
        made_at=now,
        # Cautious: where the town wrote down anything about inspections, the office decides.
        inspection_before_pour=_has_inspections(work.site_id),
    )
    JobPhase.objects.bulk_create(
        JobPhase(
            job=job,
            position=position,
            kind=phase.phase,
            labor_hours=phase.labor_hours,
            labour_cost=phase.labour_cost,
            needs_material=phase.phase in BUILT_FROM_MATERIAL,
        )
        for position, phase in enumerate(work.phases)
    )
    hours = {phase.phase: phase.labor_hours for phase in work.phases}
    audit.record(
        actor=None,
        action="made a job of an accepted proposal",
        target=job,
        after={**audit.snapshot(job), "labor_hours": hours},
        at=now,
    )
    return job


def _has_inspections(site_id: int | None) -> bool:
    towns = Jurisdiction.objects.filter(sites=site_id).exclude(inspections="")
    return site_id is not None and towns.exists()


def carry_out_making(run: JobRun) -> dict[str, int]:
    """Make the job that an acceptance asked for."""
    job = make_job(proposal_id=run.arguments["proposal_id"], now=run.now)
    return {"job_id": job.pk}


@transaction.atomic
def call_off_job(*, job: FenceJob, reason: str, actor: User, now: dt.datetime) -> FenceJob:
    """Call a job off: the customer cancelled, or it can't be built.

    Raises:
        Refusal: no reason is given, or it was called off before.
    """
    if not reason.strip():
        raise Refusal("Write down why: somebody will ask.", field="reason")
    if locked(job).state == FenceJob.State.CALLED_OFF:
        raise Refusal("This job was called off already.")
    with dates_follow_calendar(actor=actor, now=now):
        clear_future_blocks(job=job, actor=actor, now=now)
        return change_row(
            job,
            changes={
                "state": FenceJob.State.CALLED_OFF,
                "called_off_at": now,
                "called_off_reason": reason.strip(),
            },
            actor=actor,
            action="called a job off",
            at=now,
        )
