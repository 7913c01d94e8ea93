"""A job worked by hand from the signature to its margin: the figures stand in the comment.

SOLD. The price of tests/job_cast.py, 5,000.00 before tax, and its hours at 60.00: layout 1.40, dig
6.30, set 4.54, hang 2.95, gates 1.25, clean-up 4.736311 = 21.176311 h, 1,270.58. Material 1,507.00
(20 bags at 5.35 = 107.00 among it), auger 250.00, ticket 5.75, travel 120.00 (2 trips): direct cost
3,153.33. The crew is 2 people, 8 h; overhead 900.00 a crew-day, 56.25 an hour of a person:
21.176311 x 56.25 = 1,191.17. Commission 5 % = 250.00. Margin 405.50. 5 posts.

SIGNED CHANGE. +300.00, cost 120.00, 1.50 h. Its labour, 1.50 x 60.00 = 90.00, goes to the phases by
their hours; 150 hundredths and 9,000 cents, whole ones first, then to the largest remainders:
    layout 9.92 -> 0.10 h, 595.00 -> 5.95     hang  20.90 -> 0.21 h, 1,253.76 -> 12.54
    dig   44.63 -> 0.45 h, 2,677.52 -> 26.78  gates  8.85 -> 0.09 h,   531.25 ->  5.31
    set   32.16 -> 0.32 h, 1,929.51 -> 19.29  clean 33.55 -> 0.33 h, 2,012.95 -> 20.13
The other 30.00 are material: 1,537.00.
ESTIMATED: price 5,300.00; labour 1,360.58; direct 3,273.33; overhead 1,191.17 + 1.5 x 56.25 (84.38)
= 1,275.55; commission 265.00; margin 486.12 = 9.17 %; 22.676311 h / 16 = 1.417269 crew-days,
343.00 a crew-day.

DAY 1, Monday, 11 May. Ada (60.00) and Bram (48.00): both 7:00 to 8:30 at the layout, 180 min,
90.00 + 72.00 = 162.00, and it is finished. Ada 8:30 to 16:00 less 30 min digs: 420 min, 420.00.
Bram as long without a phase, 420 min, 336.00: the day's plan is 4 h digging, 2 h setting, so 280
min, 224.00 and 140 min, 112.00. 4 of 5 posts are set with 18 bags.
Receipts: material 1,400.00 and 35.50 back; the auger with its delivery 312.00.
FORECAST: digging 700 min, 644.00 for 4 posts: x 5 / 4 = 875 min, 805.00. Setting 140 min, 112.00:
175 min, 140.00. Layout 162.00. The rest as estimated: hanging 177.00 + 12.54 = 189.54, gates 80.31,
clean-up 304.31. Labour 1,681.16. Hours (180 + 875 + 175) / 60 + 3.16 + 1.34 + 5.066311 = 30.066311.
Bags 18 x 5 / 4 = 22.5, 2.5 over the plan: 3 at 5.35 = 16.05. Material 1,553.05, over the receipts
of 1,364.50. Auger 312.00, ticket 5.75, travel 120.00. Direct 3,671.96. Overhead 30.066311 x 56.25 =
1,691.23. Margin 5,300.00 - 3,671.96 - 1,691.23 - 265.00 = -328.19 = -6.19 %; / 1.879144 crew-days =
-174.65. Digging: 805.00 - 404.78 = 400.22 over; 14.58 h instead of 6.75 carry 820.31 of overhead
instead of 379.69, 440.62 more: 840.84 in all.
SO FAR: labour 918.00 in 17 h, receipts 1,676.50, direct 2,594.50, overhead 956.25.

DAY 2, and the job is finished. Both 7:00 to 15:30 less 30 min, no phase, no plan: 960 min, 480.00 +
384.00. Receipt for material 172.40. IN THE END: labour 1,782.00 in 33 h; material 1,536.90, auger
312.00, ticket and travel without receipts as estimated: direct 3,756.65. Overhead 33 x 56.25 =
1,856.25. Margin 5,300.00 - 3,756.65 - 1,856.25 - 265.00 = -577.90.
"""

import datetime as dt
from decimal import Decimal

from estimating.models import ChangeOrder, Estimate, Proposal
from firm.models import JobSite, User
from scheduling.models import (
    Crew,
    CrewDay,
    CrewMember,
    DayReport,
    FenceJob,
    HoursWorked,
    JobPhase,
    PostRecord,
)
from scheduling.services.costs import add_cost
from scheduling.services.jobs import make_job
from tests.factories import NOW
from tests.job_cast import DAY, RULES, make_accepted_proposal, make_sold_estimate

DAY_1 = dt.date(2026, 5, 11)
DAY_2 = DAY_1 + DAY
# Noon in New York.
NOON_1 = dt.datetime(2026, 5, 11, 16, tzinfo=dt.UTC)
EVENING_1, EVENING_2 = NOON_1 + dt.timedelta(hours=6), NOON_1 + dt.timedelta(hours=30)
COST_LINES = (
    ("material", "post_5x5", "5", "280.00", "1400.00"),
    ("material", "concrete_80lb", "20", "5.35", "107.00"),
    ("equipment", "two_man_auger_day", "1", "250.00", "250.00"),
    ("fee", "ticket_fee", "1", "5.75", "5.75"),
    ("travel", "travel", "2", "60.00", "120.00"),
)


def make_worked_job(actor: User, site: JobSite | None = None) -> FenceJob:
    """Return the job as it stands in the evening of day 1."""
    proposal = make_accepted_proposal(_estimate(site))
    job = make_job(proposal_id=proposal.pk, now=NOW)
    sign_change(proposal, number=1, price="300.00", tax="6.00", cost="120.00", hours="1.50")
    crew = Crew.objects.create(name="North crew")
    ada = CrewMember.objects.create(crew=crew, name="Ada", hourly_cost=Decimal(60))
    bram = CrewMember.objects.create(crew=crew, name="Bram", hourly_cost=Decimal(48))
    phases = {phase.kind: phase for phase in job.phases.all()}
    for kind, hours in (("dig", 4), ("set", 2)):
        CrewDay.objects.create(
            job=job,
            phase=phases[kind],
            crew=crew,
            date=DAY_1,
            hours=Decimal(hours),
            placed_at=NOW,
        )
    report = _report(job, crew, DAY_1, bags="18")
    work(report, ada, "07:00", "08:30", phase=phases["layout"])
    work(report, bram, "07:00", "08:30", phase=phases["layout"])
    work(report, ada, "08:30", "16:00", phase=phases["dig"], break_min=30)
    work(report, bram, "08:30", "16:00", break_min=30)
    JobPhase.objects.filter(pk=phases["layout"].pk).update(finished_on=DAY_1)
    set_posts(report, 1, 2, 3, 4)
    for kind, amount in (("material", "1400"), ("material", "-35.50"), ("equipment", "312")):
        spend(job, kind, amount, actor)
    return job


def finish_worked_job(job: FenceJob, actor: User) -> None:
    """Bring the job to the end of day 2."""
    crew = Crew.objects.get(name="North crew")
    report = _report(job, crew, DAY_2, bags=None)
    for member in crew.members.all():
        work(report, member, "07:00", "15:30", break_min=30)
    set_posts(report, 5)
    spend(job, "material", "172.40", actor, on=DAY_2)
    FenceJob.objects.filter(pk=job.pk).update(state=FenceJob.State.FINISHED, finished_at=EVENING_2)


def sign_change(
    proposal: Proposal, *, number: int, price: str, tax: str, cost: str, hours: str
) -> ChangeOrder:
    """Sign a change order."""
    return ChangeOrder.objects.create(
        proposal=proposal,
        number=number,
        state=ChangeOrder.State.SIGNED,
        title="One more post",
        price_before_tax=Decimal(price),
        sales_tax=Decimal(tax),
        direct_cost=Decimal(cost),
        labor_hours=Decimal(hours),
        way=ChangeOrder.Way.PHONE,
        signed_name="Wren Halloway",
        decided_at=NOON_1,
        created_at=NOW,
    )


def work(
    report: DayReport,
    member: CrewMember,
    started: str,
    ended: str,
    *,
    phase: JobPhase | None = None,
    break_min: int = 0,
) -> HoursWorked:
    """Write down one person's time."""
    return HoursWorked.objects.create(
        report=report,
        member=member,
        phase=phase,
        started=dt.time.fromisoformat(started),
        ended=dt.time.fromisoformat(ended),
        break_min=break_min,
        hourly_cost=member.hourly_cost or Decimal(60),
    )


def set_posts(report: DayReport, *numbers: int) -> None:
    """Set posts at noon of the report's day."""
    at = NOON_1 + (report.date - DAY_1)
    for number in numbers:
        PostRecord.objects.create(
            job=report.job, number=number, report=report, set_at=at, recorded_at=at
        )


def spend(job: FenceJob, kind: str, amount: str, actor: User, *, on: dt.date = DAY_1) -> None:
    """Write down a receipt."""
    values = {
        "kind": kind,
        "description": "Delivery" if Decimal(amount) > 0 else "Caps given back",
        "supplier": "Dunmere Supply",
        "amount": Decimal(amount),
        "spent_on": on,
    }
    add_cost(job=job, values=values, actor=actor, now=EVENING_2)


def _report(job: FenceJob, crew: Crew, day: dt.date, *, bags: str | None) -> DayReport:
    return DayReport.objects.create(
        job=job,
        crew=crew,
        date=day,
        bags_used=None if bags is None else Decimal(bags),
        reported_at=EVENING_1,
    )


def _estimate(site: JobSite | None) -> Estimate:
    row = make_sold_estimate(site)
    row.catalog |= {"rules": RULES | {"crew_size": 2}}
    row.result["money"]["overhead"] = "1191.17"
    row.result["trips"] = 2
    row.result["concrete"] = {"bags": 20, "bag_item": "concrete_80lb", "net_ft3": 11.0}
    row.result["cost_lines"] += [
        {
            "kind": kind,
            "item": item,
            "description": item,
            "quantity": quantity,
            "unit": "each",
            "unit_cost": unit_cost,
            "amount": amount,
            "overridden": False,
            "reason": "",
        }
        for kind, item, quantity, unit_cost, amount in COST_LINES
    ]
    row.save()
    return row
