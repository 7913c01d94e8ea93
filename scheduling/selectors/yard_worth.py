"""What goods of the yard are worth: what they came in for, to the cent."""

from decimal import Decimal

from django.db.models import Sum

from estimating.selectors.suppliers import cost_of
from firm.measure.money import to_cents
from scheduling.models import FenceJob, Receipt, StockMove, YardStock

NOTHING = Decimal(0)


def part_of(worth: Decimal, count: int, taken: int) -> Decimal:
    """Return the worth of some of what lies together, at their average; all of it for the last."""
    return worth if taken >= count else to_cents(worth * taken / count)


def worth_of_found(row: YardStock, count: int) -> Decimal:
    """Return the worth of goods that nobody received: at the average of what lies there.

    Where nothing lies there, what the firm began with is worth what the price book says.
    """
    if row.count:
        return to_cents(row.worth * count / row.count)
    return to_cents((cost_of(row.item)) * count)


def worth_at_job(job: FenceJob, item: str, count: int) -> Decimal:
    """Return what some of an item that is at a job went there for: loaded, and delivered.

    Nothing where no price is on record: it was loaded before prices were kept.
    """
    moved = StockMove.objects.filter(job=job, stock__item=item).aggregate(
        count=Sum("change"), worth=Sum("worth")
    )
    there, worth = -(moved["count"] or 0), -to_cents(moved["worth"] or NOTHING)
    by_line: dict[int, tuple[int, Decimal]] = {}
    rows = Receipt.objects.filter(line__order__job=job, line__item=item)
    for line, unit_cost, number, extra in rows.values_list(
        "line", "line__unit_cost", "count", "extra"
    ):
        by_line[line] = by_line.get(line, (0, unit_cost))[0] + number, unit_cost
        worth += extra
    for number, unit_cost in by_line.values():
        there += number
        worth += to_cents(number * unit_cost)
    return part_of(max(worth, NOTHING), there, count) if there > 0 else NOTHING
