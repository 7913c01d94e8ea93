"""What goods of the yard cost their jobs, with freight and tax: worked by hand, to the cent."""

from decimal import Decimal

import pytest

from estimating.models import PriceItem, Supplier
from firm.errors import Refusal
from firm.models import Role
from scheduling.models import FenceJob, JobCost, PurchaseOrder, Receipt, YardStock
from scheduling.services.costs import correct_cost
from scheduling.services.receipts import Came, receive, take_back
from scheduling.services.stock import load_items, return_leftovers
from tests.buying_cast import POST, put_in
from tests.buying_steps import line_of, sent
from tests.cast import make_person
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
Jobs = tuple[FenceJob, FenceJob]
Suppliers = tuple[Supplier, Supplier]


def comes(order: PurchaseOrder, extra: str = "0", **counts: int) -> list[Receipt]:
    came = {order.lines.get(item=item).pk: Came(count=count) for item, count in counts.items()}
    return receive(
        order=order, came=came, received_on=TODAY, extra=Decimal(extra), actor=None, now=NOW
    )


def load(job: FenceJob, count: int) -> None:
    load_items(job=job, counts={POST: count}, moved_on=TODAY, actor=None, now=NOW)


def back(job: FenceJob, count: int) -> None:
    return_leftovers(job=job, counts={POST: count}, limits={}, moved_on=TODAY, actor=None, now=NOW)


def costs(job: FenceJob) -> list[Decimal]:
    return list(job.costs.order_by("pk").values_list("amount", flat=True))


def worth() -> Decimal:
    return YardStock.objects.get(item="post").worth


def test_loads_share_what_came_in_without_losing_a_cent(jobs: Jobs, suppliers: Suppliers) -> None:
    # 3 x 38.00 and 10.00 of freight are 124.00; two thirds are 82.67, the last gets the rest.
    comes(sent(suppliers[0], post=10), "10.00", post=3)
    assert worth() == Decimal("124.00")
    load(jobs[0], 2)
    load(jobs[1], 1)
    assert (costs(jobs[0]), costs(jobs[1])) == ([Decimal("82.67")], [Decimal("41.33")])
    assert worth() == 0


def test_goods_of_two_deliveries_go_out_at_their_average(jobs: Jobs, suppliers: Suppliers) -> None:
    # 10 x 38 + 5 x 38 + 15 of freight are 585 for 15: 39 each.
    order = sent(suppliers[0], post=20)
    comes(order, post=10)
    comes(order, "15.00", post=5)
    load(jobs[0], 4)
    assert costs(jobs[0]) == [Decimal("156.00")]
    assert worth() == Decimal("429.00")


def test_leftovers_are_credited_at_the_price_they_went_out_for(
    jobs: Jobs, suppliers: Suppliers
) -> None:
    order = sent(suppliers[0], post=20)
    comes(order, "10.00", post=3)
    load(jobs[0], 2)
    # What comes meanwhile, dearer, does not change what the job paid.
    comes(order, "100.00", post=10)
    back(jobs[0], 1)
    back(jobs[0], 1)
    # Half of 82.67 is 41.335, to the cent 41.34; the last brings back the rest.
    assert costs(jobs[0]) == [Decimal("82.67"), Decimal("-41.34"), Decimal("-41.33")]
    assert worth() == Decimal("124.00") + Decimal("480.00")


def test_what_was_delivered_to_the_site_comes_back_at_its_price(
    jobs: Jobs, suppliers: Suppliers
) -> None:
    # 14 x 38.00 and 7.00 of tax: 38.50 each.
    comes(sent(suppliers[0], job=jobs[0], post=14), "7.00", post=14)
    back(jobs[0], 4)
    assert costs(jobs[0]) == [Decimal("539.00"), Decimal("-154.00")]
    assert worth() == Decimal("154.00")


def test_freight_and_tax_are_shared_out_to_the_cent_and_go_back_with_a_receipt(
    jobs: Jobs, suppliers: Suppliers
) -> None:
    order = sent(suppliers[0], job=jobs[0], post=14, rail=36)
    made = comes(order, "10.01", post=7, rail=5)
    assert sum(one.extra for one in made) == Decimal("10.01")
    goods = 7 * line_of(order, POST).unit_cost + 5 * order.lines.get(item="rail").unit_cost
    assert costs(jobs[0]) == [goods + Decimal("10.01")]
    for one in made:
        take_back(receipt=one, came=Came(count=one.count), reason="Slip", actor=None, now=NOW)
    assert sum(costs(jobs[0])) == 0


def test_freight_needs_something_to_bear_it(jobs: Jobs, suppliers: Suppliers) -> None:
    order = sent(suppliers[0], post=10)
    broken = {line_of(order, POST).pk: Came(damaged=2)}
    for came, extra in ((broken, "5"), ({line_of(order, POST).pk: Came(count=1)}, "-1")):
        with pytest.raises(Refusal) as refused:
            receive(
                order=order,
                came=came,
                received_on=TODAY,
                extra=Decimal(extra),
                actor=None,
                now=NOW,
            )
        assert refused.value.field == "extra"
    assert not Receipt.objects.exists()


def test_receipt_taken_back_takes_no_more_than_lies_there(jobs: Jobs, suppliers: Suppliers) -> None:
    order = sent(suppliers[0], post=20)
    comes(order, post=10)
    (dear,) = comes(order, "300.00", post=5)
    # 870 for 15 are 58 each; 8 go out for 464, 406 lie there for 7.
    load(jobs[0], 8)
    take_back(receipt=dear, came=Came(count=5), reason="Slip", actor=None, now=NOW)
    # The receipt brought 490, more than lies there: 5 of the 7 go at the average, 290.
    assert worth() == Decimal("116.00")
    assert costs(jobs[0]) == [Decimal("464.00")]


def test_stock_counted_at_the_start_is_worth_the_price_book_s_cost(
    jobs: Jobs, suppliers: Suppliers
) -> None:
    PriceItem.objects.update_or_create(
        key="post",
        defaults={"name": "Post", "unit_cost": Decimal("37.50"), "kind": "material"},
    )
    put_in(POST, 4)
    assert worth() == Decimal("150.00")
    # More of the same are worth the average of what lies there, fewer take it along.
    put_in(POST, 5)
    assert worth() == Decimal("187.50")
    put_in(POST, 2)
    assert worth() == Decimal("75.00")


def test_nobody_corrects_by_hand_what_the_yard_wrote(jobs: Jobs, suppliers: Suppliers) -> None:
    comes(sent(suppliers[0], post=10), post=3)
    load(jobs[0], 2)
    row = JobCost.objects.get()
    assert not row.is_typed
    with pytest.raises(Refusal, match="The yard wrote this"):
        correct_cost(
            cost=row,
            values={"amount": Decimal(1), "spent_on": TODAY},
            actor=make_person(Role.OFFICE),
            now=NOW,
        )
