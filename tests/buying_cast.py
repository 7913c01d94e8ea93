"""Jobs with a take-off, suppliers and a yard that tests of buying begin with.

Two jobs as in the demo, smaller. What each needs, in whole purchase units:

               job 11 (set May 11, hang May 14)   job 12 (set May 8, hang May 18)
    post       14 at 38.00                         6 at 38.00
    bag        52 at  6.50                        27 at  6.50
    rail       25 at 21.50                        11 at 21.50
"""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.utils import timezone

from estimating.models import PriceItem, Supplier
from scheduling.models import Crew, FenceJob, YardStock
from scheduling.services.stock import StockItem, correct_stock
from tests.crew_cast import make_full_job, may, put_on
from tests.factories import NOW, TODAY

POST = StockItem(item="post", name="Post 5 x 5", unit="each")
BAG = StockItem(item="bag", name="Concrete 80 lb", unit="bag")
RAIL = StockItem(item="rail", name="Rail 8 ft", unit="each")
DRIVERS = {"post": "post", "bag": "concrete", "rail": "bay", "latch": "gate"}
COSTS = {"post": "38.0000", "bag": "6.5000", "rail": "21.5000", "latch": "42.0000"}
NAMES = {one.item: one for one in (POST, BAG, RAIL)}


def take_off(**counts: int) -> dict[str, Any]:
    """Return the parts of an estimate's result that say what is bought."""
    names = {item: NAMES[item].name if item in NAMES else item for item in counts}
    return {
        "quantities": [
            {
                "item": item,
                "name": names[item],
                "driver": DRIVERS[item],
                "purchase_units": count,
                "purchase_unit": NAMES[item].unit if item in NAMES else "each",
                "needs": [{"driver": DRIVERS[item]}],
            }
            for item, count in counts.items()
        ],
        "cost_lines": [
            {
                "kind": "material",
                "item": item,
                "unit_cost": COSTS[item],
                "amount": str(count * Decimal(COSTS[item])),
            }
            for item, count in counts.items()
        ],
    }


def make_job_with(number: int, *, set_on: dt.date, hang_on: dt.date, crew: Crew) -> FenceJob:
    """Return a job whose posts are set and whose rails hang on two days of a crew."""
    job = make_full_job(number, on=TODAY)
    job.phases.filter(kind__in=["set", "hang", "gates"]).update(needs_material=True)
    put_on(job, "set", crew, set_on)
    put_on(job, "hang", crew, hang_on)
    return job


def needs(job: FenceJob, **counts: int) -> FenceJob:
    """Let a job's estimate need these items."""
    estimate = job.proposal.estimate
    estimate.result = estimate.result | take_off(**counts)
    estimate.save(update_fields=["result"])
    return job


def make_job_needing(crew: Crew, count: int, unit: str, *, item: str, name: str) -> FenceJob:
    """Make a job of a crew that is set today and needs so much of something sold by length."""
    today = timezone.localdate()
    job = make_job_with(11, set_on=today, hang_on=today + dt.timedelta(days=3), crew=crew)
    job.phases.update(material_received_on=None)
    made = take_off(post=2)
    made["quantities"][0] |= {"item": item, "name": name, "purchase_unit": unit}
    made["quantities"][0]["purchase_units"] = count
    estimate = job.proposal.estimate
    estimate.result = estimate.result | made
    estimate.save(update_fields=["result"])
    return job


def make_two_jobs(crew: Crew) -> tuple[FenceJob, FenceJob]:
    """Return the two jobs of the table above."""
    first = make_job_with(11, set_on=may(11), hang_on=may(14), crew=crew)
    second = make_job_with(12, set_on=may(8), hang_on=may(18), crew=crew)
    return needs(first, post=14, bag=52, rail=25), needs(second, post=6, bag=27, rail=11)


def make_suppliers() -> tuple[Supplier, Supplier]:
    """Return who sells posts and rails (5 days), and who sells concrete (1 day)."""
    fences = Supplier.objects.create(
        name="Quarry Bend Supply", email="sales@quarry.example", lead_days=5, account_number="K-41"
    )
    concrete = Supplier.objects.create(name="Dunmere Builders", lead_days=1)
    for item, supplier in ((POST, fences), (RAIL, fences), (BAG, concrete)):
        PriceItem.objects.create(
            key=item.item,
            name=item.name,
            purchase_unit=item.unit,
            unit_cost=Decimal(COSTS[item.item]),
            supplier=supplier,
        )
    return fences, concrete


def put_in(item: StockItem, count: int) -> None:
    """Let so many of an item lie in the yard."""
    correct_stock(item=item, counted=count, seen=None, reason="counted", actor=None, now=NOW)


def lies(item: StockItem) -> int:
    """Return how many of an item lie in the yard by its count."""
    return YardStock.objects.get(item=item.item).count
