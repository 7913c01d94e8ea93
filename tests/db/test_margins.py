"""The margin of a job from the rows of the database; the first job is worked in margin_world."""

import datetime as dt
from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from estimating.models import ChangeOrder, Estimate, GroundChange, Invoice, Payment
from firm.errors import Refusal
from firm.models import AuditEntry, Role, User
from scheduling.engine.margin_facts import Triple
from scheduling.models import Crew, CrewDay, DayReport, FenceJob, JobCost, JobPhase
from scheduling.selectors.margin import JobMargin, job_margin, margins
from scheduling.services.costs import add_cost, correct_cost
from tests.cast import make_person
from tests.factories import NOW, make_customer, make_firm, make_site
from tests.job_cast import DAY, make_fence_job
from tests.margin_world import (
    DAY_1,
    DAY_2,
    EVENING_1,
    EVENING_2,
    finish_worked_job,
    make_worked_job,
    set_posts,
    spend,
    work,
)

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def actor(db: None) -> User:
    make_firm()
    return make_person(Role.OFFICE)


@pytest.fixture
def job(actor: User) -> FenceJob:
    return make_worked_job(actor)


def seen(job: FenceJob, *, now: dt.datetime = EVENING_1) -> JobMargin:
    found = job_margin(job.pk, now=now)
    assert found is not None
    return found


def codes(job: FenceJob, *, now: dt.datetime = EVENING_1) -> list[str]:
    return [sign.code for sign in seen(job, now=now).signs]


def test_worked_job_in_the_evening_of_day_1(job: FenceJob) -> None:
    found = seen(job)
    margin = found.margin
    rows = {row.key: row for row in margin.phases}
    assert margin.price == D("5300.00")
    assert rows["layout"].minutes.forecast == 180
    assert (rows["dig"].minutes.actual, rows["dig"].cost.actual) == (D(700), D("644.00"))
    assert (rows["set"].minutes.actual, rows["set"].cost.actual) == (D(140), D("112.00"))
    assert rows["dig"].cost.estimated == D("404.78")
    assert {key: row.cost.forecast for key, row in rows.items()} == {
        "layout": D("162.00"),
        "dig": D("805.00"),
        "set": D("140.00"),
        "hang": D("189.54"),
        "gates": D("80.31"),
        "clean_up": D("304.31"),
    }
    assert {row.key: row.cost for row in margin.kinds} == {
        "labour": Triple(estimated=D("1360.58"), actual=D("918.00"), forecast=D("1681.16")),
        "material": Triple(estimated=D("1537.00"), actual=D("1364.50"), forecast=D("1553.05")),
        "equipment": Triple(estimated=D("250.00"), actual=D("312.00"), forecast=D("312.00")),
        "travel": Triple(estimated=D("120.00"), actual=D(0), forecast=D("120.00")),
        "fee": Triple(estimated=D("5.75"), actual=D(0), forecast=D("5.75")),
    }
    assert margin.hours.forecast == D("30.066311")
    assert margin.direct_cost == Triple(
        estimated=D("3273.33"), actual=D("2594.50"), forecast=D("3671.96")
    )
    assert margin.overhead == Triple(
        estimated=D("1275.55"), actual=D("956.25"), forecast=D("1691.23")
    )
    assert margin.commission == D("265.00")
    assert (margin.margin.estimated, margin.margin.forecast) == (D("486.12"), D("-328.19"))
    assert margin.pct is not None
    assert margin.pct.forecast.quantize(D("0.01")) == D("-6.19")
    assert margin.per_crew_day is not None
    assert margin.per_crew_day.estimated == D("343.00")
    assert margin.per_crew_day.forecast == D("-174.65")
    assert margin.moved_by == (
        "Digging costs $840.84 more than estimated, with the overhead it carries: "
        "14.58 h instead of 6.75 h."
    )
    assert (found.posts, found.posts_set, found.bags_planned, found.bags_used) == (5, 4, 20, D(18))


def test_worked_job_in_the_end(job: FenceJob, actor: User) -> None:
    finish_worked_job(job, actor)
    margin = seen(job, now=EVENING_2).margin
    assert (margin.labour.forecast, margin.hours.forecast) == (D("1782.00"), D(33))
    assert margin.direct_cost.forecast == D("3756.65")
    assert margin.overhead.forecast == D("1856.25")
    assert margin.margin.forecast == D("-577.90")
    assert margin.margin.estimated == D("486.12")


def test_job_of_which_nothing_is_written_down_leaves_what_was_estimated(actor: User) -> None:
    margin = seen(make_fence_job()).margin
    # Its one phase has 378.00 of labour; 3,153.33 - 378.00 is in none of the estimate's kinds.
    assert [(row.key, row.cost.estimated) for row in margin.kinds] == [
        ("labour", D("378.00")),
        ("material", D(0)),
        ("other", D("2775.33")),
    ]
    assert margin.margin.estimated == D("802.56")


def test_posts_whose_days_hours_are_not_in_count_for_no_rate(job: FenceJob) -> None:
    crew = Crew.objects.get()
    report = DayReport.objects.create(job=job, crew=crew, date=DAY_2, reported_at=EVENING_2)
    set_posts(report, 5)
    found = seen(job, now=EVENING_2)
    dig = next(row for row in found.margin.phases if row.key == "dig")
    assert dig.cost.forecast == D("805.00")
    assert found.posts_set == 5


def test_hours_without_phase_and_plan_go_to_what_was_not_finished_before(job: FenceJob) -> None:
    crew = Crew.objects.get()
    report = DayReport.objects.create(job=job, crew=crew, date=DAY_2, reported_at=EVENING_2)
    job.phases.exclude(kind__in=["hang", "gates"]).update(finished_on=DAY_1)
    JobPhase.objects.filter(kind="gates").update(finished_on=DAY_2)
    work(report, crew.members.get(name="Ada"), "08:00", "09:24")
    # 84 min over 2.95 : 1.25 h are 59 and 25 min, at 60.00 an hour 59.00 and 25.00.
    rows = {row.key: row for row in seen(job, now=EVENING_2).margin.phases}
    assert (rows["hang"].minutes.actual, rows["hang"].cost.actual) == (D(59), D("59.00"))
    assert (rows["gates"].minutes.actual, rows["gates"].cost.actual) == (D(25), D("25.00"))
    assert rows["dig"].minutes.actual == 700


def test_plan_of_another_crew_or_day_spreads_no_hours(job: FenceJob) -> None:
    other = Crew.objects.create(name="South crew")
    hang = job.phases.get(kind="hang")
    CrewDay.objects.create(job=job, phase=hang, crew=other, date=DAY_1, hours=D(8), placed_at=NOW)
    rows = {row.key: row for row in seen(job).margin.phases}
    assert rows["hang"].minutes.actual == 0


def test_hours_after_everything_is_finished_go_to_all_phases(job: FenceJob) -> None:
    crew = Crew.objects.get()
    job.phases.update(finished_on=DAY_1)
    report = DayReport.objects.create(job=job, crew=crew, date=DAY_2, reported_at=EVENING_2)
    work(report, crew.members.get(name="Ada"), "08:00", "09:00")
    # 1,020 min of day 1, and the hour.
    assert seen(job, now=EVENING_2).margin.minutes.actual == 1080


def test_job_without_phases_keeps_its_hours(actor: User) -> None:
    job = make_fence_job()
    job.phases.all().delete()
    crew = Crew.objects.create(name="North crew")
    ada = crew.members.create(name="Ada", hourly_cost=D(60))
    report = DayReport.objects.create(job=job, crew=crew, date=DAY_1, reported_at=EVENING_1)
    work(report, ada, "08:00", "09:30")
    (row,) = seen(job).margin.phases
    assert (row.key, row.minutes.actual, row.cost.actual) == ("extra", D(90), D("90.00"))


def test_units_and_bags_are_those_of_the_ground_as_it_was_found(job: FenceJob) -> None:
    GroundChange.objects.create(
        proposal=job.proposal,
        version=1,
        document={},
        result={"holes": [{}] * 8, "concrete": {"bags": 33}},
        made_at=NOW,
    )
    found = seen(job)
    assert (found.posts, found.bags_planned) == (8, 33)
    # 644.00 x 8 / 4.
    assert found.margin.phases[1].cost.forecast == D("1288.00")


def test_bag_bought_by_the_pallet_costs_its_part(job: FenceJob) -> None:
    estimate = job.proposal.estimate
    line = next(row for row in estimate.result["cost_lines"] if row["item"] == "concrete_80lb")
    line |= {"quantity": "1", "unit_cost": "107.00"}
    Estimate.objects.filter(pk=estimate.pk).update(result=estimate.result)
    material = seen(job).margin.kinds[1]
    assert material.cost.forecast == D("1553.05")


def test_estimate_without_rules_leaves_its_overhead_as_it_was(job: FenceJob) -> None:
    Estimate.objects.update(catalog={})
    margin = seen(job).margin
    assert margin.overhead.forecast == D("1191.17")
    assert margin.crew_days is None
    assert codes(job) == ["deposit-under-material"]


def test_signs_of_the_worked_job(job: FenceJob) -> None:
    # 4 of 5 posts are 80 %; 4.5 bags a post are under 1.25 x 4; 1 of 5 holes is under 30 %.
    assert codes(job) == ["deposit-under-material"]
    assert codes(job, now=EVENING_2) == ["deposit-under-material"]
    assert seen(job).signs[0].words == (
        "Payments written down: $0.00. Material bought or ordered: $1,364.50."
    )


def test_signs_are_read_from_the_rows(job: FenceJob) -> None:
    job.post_records.filter(number__in=[3, 4]).update(set_at=None)
    job.phases.filter(kind="set").update(material_promised_on=DAY_1)
    job.reports.update(extra_work="Stump taken out")
    for days in (2, 3, 4):
        DayReport.objects.create(
            job=job, crew=Crew.objects.get(), date=DAY_1 + days * DAY, reported_at=EVENING_1
        )
    assert [sign.words for sign in seen(job, now=EVENING_2).signs] == [
        "2 posts were set by the end of Mon May 11, 2026, the first day; the plan was 5.",
        "9 bags go into a post; the plan is 4.",
        # 22.68 h / 16 make 2 days, and 2 visits may split one.
        "4 days out so far; the plan was 3.",
        # 700 min; 6.30 + 0.45 h.
        "Digging took 11.67 h of the 6.75 h planned, and 3 of 5 posts are not set.",
        "Payments written down: $0.00. Material bought or ordered: $1,537.00.",
    ]


def test_first_day_is_judged_when_it_is_over_and_posts_are_still_to_be_set(job: FenceJob) -> None:
    job.post_records.update(set_at=None)
    assert "slow-first-day" not in codes(job, now=EVENING_1)
    assert "slow-first-day" in codes(job, now=EVENING_2)
    job.phases.filter(kind="set").update(finished_on=DAY_2)
    assert "slow-first-day" not in codes(job, now=EVENING_2)


def test_change_nobody_signed_is_a_sign_until_it_is_answered(job: FenceJob) -> None:
    order = ChangeOrder.objects.create(
        proposal=job.proposal, number=2, title="A gate more", created_at=NOW
    )
    assert "unsigned-extras" in codes(job)
    order.state = ChangeOrder.State.DROPPED
    order.save()
    assert "unsigned-extras" not in codes(job)


def test_extra_work_noted_without_any_change_order_is_a_sign(actor: User) -> None:
    job, crew = make_fence_job(), Crew.objects.create(name="North crew")
    report = DayReport.objects.create(job=job, crew=crew, date=DAY_1, reported_at=EVENING_1)
    assert codes(job) == []
    report.extra_work = "Stump taken out"
    report.save()
    assert codes(job) == ["unsigned-extras"]


def test_finished_job_without_an_invoice_is_a_sign_from_the_fourth_day(
    job: FenceJob, actor: User
) -> None:
    finish_worked_job(job, actor)
    assert codes(job, now=EVENING_2 + 3 * DAY) == []
    assert codes(job, now=EVENING_2 + 4 * DAY) == ["not-invoiced"]


def test_balance_that_is_not_paid_is_a_sign_from_the_sixteenth_day(
    job: FenceJob, actor: User
) -> None:
    finish_worked_job(job, actor)
    values = {"number": 1, "state": "issued", "amount": D("5406.00"), "drafted_at": NOW}
    invoice = Invoice.objects.create(
        proposal=job.proposal, kind="balance", issued_on=DAY_2, **values
    )
    assert codes(job, now=EVENING_2 + 15 * DAY) == []
    # 5,100.00 and 306.00 with tax were sold.
    assert seen(job, now=EVENING_2 + 16 * DAY).signs[0].words == (
        "$5,406.00 still to be paid, 16 days after the balance invoice."
    )
    Payment.objects.create(
        proposal=job.proposal,
        invoice=invoice,
        amount=D("5406.00"),
        received_on=DAY_2,
        recorded_at=NOW,
    )
    assert codes(job, now=EVENING_2 + 16 * DAY) == []


def test_job_called_off_shows_no_signs(job: FenceJob) -> None:
    FenceJob.objects.filter(pk=job.pk).update(
        state=FenceJob.State.CALLED_OFF, called_off_at=NOW, called_off_reason="Moved away"
    )
    found = seen(job)
    assert found.signs == ()
    assert found.margin.direct_cost.actual == D("2594.50")
    assert margins(now=EVENING_1) == []


def test_list_holds_jobs_to_do_and_lately_finished_the_worst_first(
    job: FenceJob, actor: User
) -> None:
    good = make_fence_job(make_site(), number=1002)
    free = make_fence_job(make_site(), number=1003)
    FenceJob.objects.filter(pk=free.pk).update(price_before_tax=0)
    assert [row.job for row in margins(now=EVENING_1)] == [job, good, free]
    finish_worked_job(job, actor)
    assert job in [row.job for row in margins(now=EVENING_2 + 90 * DAY)]
    assert job not in [row.job for row in margins(now=EVENING_2 + 91 * DAY)]


def test_list_asks_as_often_for_one_job_as_for_many(
    job: FenceJob, actor: User, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    # Jobs; phases, costs, blocks, posts, reports, hours; acceptances, signed changes, invoices,
    # payments; ground, drafts, estimates.
    with django_assert_num_queries(14):
        margins(now=EVENING_1)
    crew = Crew.objects.get()
    for number in range(12):
        site = make_site(make_customer(name=f"Customer {number}"))
        more = make_fence_job(site, number=1100 + number)
        report = DayReport.objects.create(job=more, crew=crew, date=DAY_1, reported_at=NOW)
        work(report, crew.members.all()[0], "08:00", "09:00")
        set_posts(report, 1)
        spend(more, "material", "10", actor)
    with django_assert_num_queries(14):
        assert len(margins(now=EVENING_1)) == 13


def test_unknown_job_has_no_margin(actor: User) -> None:
    assert job_margin(987654, now=NOW) is None


def receipt(**changes: object) -> dict[str, object]:
    return {
        "kind": "material",
        "description": "Posts",
        "supplier": "",
        "amount": D("10.00"),
        "spent_on": DAY_1,
    } | changes


def test_receipt_is_written_down_and_corrected_with_its_record(actor: User) -> None:
    cost = add_cost(job=make_fence_job(), values=receipt(), actor=actor, now=EVENING_1)
    assert (cost.recorded_by, cost.recorded_at) == (actor, EVENING_1)
    correct_cost(cost=cost, values=receipt(amount=D("12.50")), actor=actor, now=EVENING_2)
    assert JobCost.objects.get().amount == D("12.50")
    assert list(
        AuditEntry.objects.filter(action__contains="a cost of a job")
        .order_by("pk")
        .values_list("action", flat=True)
    ) == ["wrote down a cost of a job", "corrected a cost of a job"]
    entry = AuditEntry.objects.get(action="corrected a cost of a job")
    assert (entry.before, entry.after) == ({"amount": "10.00"}, {"amount": "12.50"})


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"amount": D(0)}, "amount"), ({"spent_on": DAY_1 + DAY}, "spent_on")],
)
def test_receipt_of_nothing_or_of_tomorrow_is_refused(
    actor: User, changes: dict[str, object], field: str
) -> None:
    job = make_fence_job()
    with pytest.raises(Refusal) as refused:
        add_cost(job=job, values=receipt(**changes), actor=actor, now=EVENING_1)
    assert refused.value.field == field
    assert not JobCost.objects.exists()
    cost = add_cost(job=job, values=receipt(), actor=actor, now=EVENING_1)
    with pytest.raises(Refusal):
        correct_cost(cost=cost, values=receipt(**changes), actor=actor, now=EVENING_1)
    assert JobCost.objects.get().amount == D("10.00")
