"""An accepted proposal becomes one job, with the hours and the money it was sold with."""

import datetime as dt
from decimal import Decimal
from importlib import import_module

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, models, transaction

from estimating.models import EstimateLine, Proposal
from estimating.selectors.accepted import AcceptedWork, accepted_work
from estimating.services.acceptances import Signature, accept_on_paper
from firm.errors import Refusal
from firm.models import AuditEntry, Job, JobState, Role
from firm.services import jobs
from scheduling.models import FenceJob, JobPhase
from scheduling.services import jobs as service
from scheduling.services.jobs import call_off_job, make_job
from tests.cast import make_person
from tests.factories import NOW, make_sent_proposal
from tests.job_cast import (
    PHASES,
    accept,
    job_values,
    make_accepted_proposal,
    make_fence_job,
    make_sold_estimate,
)

pytestmark = pytest.mark.django_db

MINUTE = dt.timedelta(minutes=1)


def queued() -> list[Job]:
    return list(Job.objects.filter(kind="job.make"))


def test_acceptance_at_the_link_queues_the_making_of_one_job() -> None:
    proposal = make_accepted_proposal()
    accept(proposal, at=NOW + MINUTE)
    (row,) = queued()
    assert row.arguments == {"proposal_id": proposal.pk}
    assert row.dedup_key == f"job.make:{proposal.pk}"
    assert not FenceJob.objects.exists()


def test_signature_on_paper_queues_it_too() -> None:
    proposal = make_sent_proposal(make_sold_estimate())
    accept_on_paper(
        proposal=proposal,
        signature=Signature(name="Wren Halloway", pdf_sha256=proposal.pdf_sha256),
        scan=_scan(),
        signed_on=NOW.date(),
        actor=make_person(Role.OFFICE),
        now=NOW,
    )
    assert [row.arguments for row in queued()] == [{"proposal_id": proposal.pk}]


def test_acceptance_that_is_refused_queues_nothing() -> None:
    proposal = make_sent_proposal(make_sold_estimate())
    with pytest.raises(Refusal):
        accept(proposal, options=["no such option"])
    assert queued() == []


def test_worker_makes_the_job_with_phases_hours_and_money_as_sold() -> None:
    proposal = make_accepted_proposal()
    jobs.run_due_jobs(now=NOW)
    job = FenceJob.objects.get()
    assert queued()[0].result == {"job_id": job.pk}
    assert (job.label, job.title) == ("1001", "Privacy fence behind the house")
    assert (job.proposal, job.customer) == (proposal, proposal.estimate.customer)
    assert job.site == proposal.estimate.site
    assert job.signed_at == NOW
    # Monday, 4 May: the third business day after ends on Thursday, 7 May, midnight in New York.
    assert job.cancellation_ends_at == dt.datetime(2026, 5, 8, 3, 59, 59, tzinfo=dt.UTC)
    assert (job.price, job.price_before_tax) == (Decimal("5100.00"), Decimal("5000.00"))
    assert (job.direct_cost, job.overhead) == (Decimal("3153.33"), Decimal("794.11"))
    assert (job.commission, job.estimated_margin) == (Decimal("250.00"), Decimal("802.56"))
    assert [(phase.kind, phase.labor_hours, phase.labour_cost) for phase in job.phases.all()] == [
        (kind, Decimal(hours), Decimal(cost)) for kind, hours, cost in PHASES
    ]


def test_chosen_option_brings_its_price_its_hours_and_its_cost() -> None:
    estimate = make_sold_estimate()
    line = EstimateLine.objects.create(
        pk=77,
        estimate=estimate,
        description="Take down 40 ft of wire fence",
        unit_cost=Decimal("40.00"),
        labor_hours=Decimal("2.50"),
        is_optional=True,
    )
    EstimateLine.objects.create(
        pk=78, estimate=estimate, description="Not chosen", unit_cost=Decimal(9), is_optional=True
    )
    estimate.result["options"][1]["key"] = f"typed-{line.pk}"
    estimate.save()
    proposal = make_sent_proposal(estimate)
    accept(proposal, options=[f"typed-{line.pk}"])
    job = make_job(proposal_id=proposal.pk, now=NOW)
    # 5,000.00 + 260.00; the option bears no tax.
    assert (job.price_before_tax, job.sales_tax) == (Decimal("5260.00"), Decimal("100.00"))
    # 3,153.33 + 40.00 + 2.5 h x 60.00.
    assert job.direct_cost == Decimal("3343.33")
    # 23.676311 / 24 x 900.00 = 887.8617.
    assert job.overhead == Decimal("887.86")
    # 5 % of 5,260.00; 5,260.00 - 3,343.33 - 887.86 - 263.00.
    assert (job.commission, job.estimated_margin) == (Decimal("263.00"), Decimal("765.81"))
    extra = job.phases.get(kind="extra")
    assert (extra.labor_hours, extra.labour_cost) == (Decimal("2.5"), Decimal("150.00"))


def test_option_with_tax_counts_before_tax_in_the_margin() -> None:
    proposal = make_sent_proposal(make_sold_estimate())
    accept(proposal, options=["typed-1"])
    job = make_job(proposal_id=proposal.pk, now=NOW)
    # 120.00 and 2.40 of tax.
    assert (job.price_before_tax, job.sales_tax) == (Decimal("5120.00"), Decimal("102.40"))
    assert job.price == proposal.acceptance.total


def test_work_that_has_no_layout_becomes_a_job_of_other_work() -> None:
    estimate = make_sold_estimate()
    estimate.result["cost_lines"] = [
        {**estimate.result["cost_lines"][0], "item": "typed:typed-9", "quantity": "3"}
    ]
    estimate.result["lines"] = []
    estimate.save()
    job = make_job(proposal_id=make_accepted_proposal(estimate).pk, now=NOW)
    assert [(phase.kind, phase.labor_hours) for phase in job.phases.all()] == [
        ("extra", Decimal(3))
    ]


def test_handler_that_runs_twice_makes_one_job() -> None:
    make_accepted_proposal()
    (row,) = queued()
    jobs.run_due_jobs(now=NOW)
    Job.objects.filter(pk=row.pk).update(state=JobState.RUNNING, lease_until=NOW, finished_at=None)
    assert jobs.run_due_jobs(now=NOW + 11 * MINUTE) == 1
    assert FenceJob.objects.count() == 1
    assert JobPhase.objects.count() == len(PHASES)
    assert AuditEntry.objects.filter(action="made a job of an accepted proposal").count() == 1


def test_worker_that_comes_second_takes_the_job_of_the_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    proposal = make_accepted_proposal()

    def read_while_another_is_quicker(proposal_id: int) -> AcceptedWork | None:
        monkeypatch.undo()
        make_job(proposal_id=proposal_id, now=NOW)
        return accepted_work(proposal_id)

    monkeypatch.setattr(service, "accepted_work", read_while_another_is_quicker)
    second = make_job(proposal_id=proposal.pk, now=NOW + MINUTE)
    assert second == FenceJob.objects.get()
    assert second.made_at == NOW
    assert JobPhase.objects.count() == len(PHASES)
    assert AuditEntry.objects.filter(action="made a job of an accepted proposal").count() == 1


def test_proposal_that_is_not_accepted_becomes_no_job() -> None:
    proposal = make_sent_proposal(make_sold_estimate())
    with pytest.raises(Refusal, match="Only an accepted proposal"):
        make_job(proposal_id=proposal.pk, now=NOW)


def test_paper_of_an_older_proposal_that_comes_in_late_loses_no_job() -> None:
    older = make_sent_proposal(make_sold_estimate())
    newer = make_sent_proposal(older.estimate)
    Proposal.objects.filter(pk=older.pk).update(state=Proposal.State.EXPIRED)
    accept(newer)
    accept(older)
    jobs.run_due_jobs(now=NOW)
    assert {job.proposal for job in FenceJob.objects.filter(number=1001)} == {older, newer}


def test_acceptances_from_before_there_were_jobs_are_queued_once() -> None:
    proposal = make_accepted_proposal()
    Job.objects.all().delete()
    step = import_module("scheduling.migrations.0002_make_jobs_of_standing_acceptances")
    step.ask_for_jobs(apps, None)
    step.ask_for_jobs(apps, None)
    assert [row.dedup_key for row in queued()] == [f"job.make:{proposal.pk}"]
    jobs.run_due_jobs(now=queued()[0].due_at)
    assert FenceJob.objects.get().proposal == proposal


def test_job_is_called_off_once_with_reason_and_record() -> None:
    job, office = make_fence_job(), make_person(Role.OFFICE)
    off = call_off_job(job=job, reason=" Cancelled in writing ", actor=office, now=NOW + MINUTE)
    assert (off.state, off.called_off_at) == (FenceJob.State.CALLED_OFF, NOW + MINUTE)
    assert off.called_off_reason == "Cancelled in writing"
    entry = AuditEntry.objects.get(action="called a job off")
    assert (entry.actor, entry.before["state"], entry.after["state"]) == (
        office,
        "to_do",
        "called_off",
    )
    with pytest.raises(Refusal, match="already"):
        call_off_job(job=job, reason="Again", actor=office, now=NOW)
    assert FenceJob.objects.get().called_off_reason == "Cancelled in writing"


def test_job_is_not_called_off_without_a_reason() -> None:
    with pytest.raises(Refusal) as refused:
        call_off_job(job=make_fence_job(), reason="  ", actor=make_person(Role.OFFICE), now=NOW)
    assert refused.value.field == "reason"
    assert FenceJob.objects.get().state == FenceJob.State.TO_DO


def _scan() -> SimpleUploadedFile:
    return SimpleUploadedFile("signed.pdf", b"%PDF-1.7 signed")


def refused(row: models.Model, constraint: str) -> None:
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        row.save()


def unsaved_job(**changes: object) -> FenceJob:
    estimate = make_sold_estimate()
    proposal = Proposal.objects.create(
        estimate=estimate, valid_until=NOW.date(), price=estimate.price
    )
    return FenceJob(**(job_values(proposal) | changes))


@pytest.mark.parametrize(
    ("changes", "constraint"),
    [
        ({"state": "lost"}, "job_state_known|job_called_off"),
        ({"state": "called_off"}, "job_called_off_has_time_and_reason"),
        ({"called_off_reason": "Why"}, "job_called_off_has_time_and_reason"),
        ({"state": "called_off", "called_off_at": NOW}, "job_called_off_has_time_and_reason"),
        ({"sales_tax": Decimal("-0.01")}, "job_money_not_negative"),
        ({"direct_cost": Decimal(-1)}, "job_money_not_negative"),
        ({"cancellation_ends_at": NOW - MINUTE}, "job_cancellation_ends_after_signing"),
    ],
)
def test_database_refuses_jobs_that_make_no_sense(
    changes: dict[str, object], constraint: str
) -> None:
    refused(unsaved_job(**changes), constraint)


def test_database_keeps_one_job_for_each_proposal() -> None:
    job = make_fence_job()
    refused(FenceJob(**job_values(job.proposal)), "proposal_id")


@pytest.mark.parametrize(
    ("changes", "constraint"),
    [
        ({"kind": "dig"}, "phase_once_per_job|scheduling_jobphase.kind"),
        ({"kind": "sleep"}, "phase_kind_known"),
        ({"labor_hours": Decimal(-1)}, "phase_labour_not_negative"),
    ],
)
def test_database_refuses_phases_that_make_no_sense(
    changes: dict[str, object], constraint: str
) -> None:
    values: dict[str, object] = {
        "job": make_fence_job(),
        "position": 1,
        "kind": "hang",
        "labor_hours": Decimal(1),
        "labour_cost": Decimal(60),
    }
    refused(JobPhase(**(values | changes)), constraint)
