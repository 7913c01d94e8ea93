"""The buying list, purchase orders, receipts and the yard, by their services."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from estimating.models import GroundChange, Supplier
from firm.errors import Refusal
from firm.models import AuditEntry, FirmProfile, OutgoingMail
from scheduling.models import (
    Crew,
    FenceJob,
    JobPhase,
    OrderLine,
    PurchaseOrder,
    Receipt,
    StockMove,
    YardStock,
)
from scheduling.models.orders import OrderIsFinalError
from scheduling.selectors.buying import BuyingList, ItemRow, buying_list
from scheduling.services import orders
from scheduling.services.job_details import set_material
from scheduling.services.receipts import Came, receive
from scheduling.services.stock import (
    StockItem,
    correct_stock,
    load_items,
    return_leftovers,
)
from tests.buying_cast import (
    BAG,
    POST,
    RAIL,
    lies,
    make_suppliers,
    make_two_jobs,
    needs,
    put_in,
    take_off,
)
from tests.crew_cast import make_full_job, make_red_crew, may
from tests.factories import NOW, TODAY, make_firm

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def crew() -> Crew:
    make_firm()
    return make_red_crew()


@pytest.fixture
def jobs(crew: Crew) -> tuple[FenceJob, FenceJob]:
    for job in (found := make_two_jobs(crew)):
        # Nobody wrote a day down by hand.
        job.phases.update(material_received_on=None, material_promised_on=None)
    return found


@pytest.fixture
def suppliers() -> tuple[Supplier, Supplier]:
    return make_suppliers()


END_OF_MAY = may(31)


def the_list(
    first: dt.date = TODAY, last: dt.date = END_OF_MAY, *, unplaced: bool = True
) -> BuyingList:
    return buying_list(first=first, last=last, with_unplaced=unplaced, today=TODAY)


def row_of(item: StockItem, found: BuyingList | None = None) -> ItemRow:
    groups = (found or the_list()).groups
    return next(row for group in groups for row in group.rows if row.item == item.item)


def draft(supplier: Supplier, *, job: FenceJob | None = None, **counts: int) -> PurchaseOrder:
    names = {one.item: one for one in (POST, BAG, RAIL)}
    return orders.draft_order(
        supplier_id=supplier.pk,
        lines=[
            orders.DraftLine(
                item=item,
                name=names[item].name,
                unit=names[item].unit,
                count=count,
                unit_cost=Decimal("38.00"),
            )
            for item, count in counts.items()
        ],
        job=job,
        needed_by=may(8),
        actor=None,
        now=NOW,
    )


def sent(supplier: Supplier, *, job: FenceJob | None = None, **counts: int) -> PurchaseOrder:
    return orders.send_order(order=draft(supplier, job=job, **counts), to="", actor=None, now=NOW)


def line_of(order: PurchaseOrder, item: StockItem) -> OrderLine:
    return order.lines.get(item=item.item)


def comes(order: PurchaseOrder, item: StockItem, count: int, *, damaged: int = 0) -> None:
    came = {line_of(order, item).pk: Came(count=count, damaged=damaged)}
    receive(order=order, came=came, received_on=TODAY, actor=None, now=NOW)


def promise(order: PurchaseOrder, day: dt.date) -> None:
    days = {line.pk: day for line in order.lines.all()}
    orders.write_down_promises(order=order, days=days, actor=None, now=NOW)


def days_of(job: FenceJob, kind: str) -> tuple[dt.date | None, dt.date | None]:
    phase = job.phases.get(kind=kind)
    return phase.material_promised_on, phase.material_received_on


# --- The list ---


def test_two_jobs_by_hand(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    # Yard: 10 posts and 20 bags. Job 12 sets first, on May 8, so it takes first.
    # Posts: 14 + 6 = 20 needed. Job 12 takes 6 of the 10, job 11 the other 4 and waits for
    #   14 - 4 = 10, at 38.00 = 380.00. It sets on May 11: 5 days before is May 6.
    # Bags: 52 + 27 = 79. Job 12 takes the 20 and waits for 7, job 11 for 52: 59 at 6.50 =
    #   383.50. The first that waits is job 12 on May 8: 1 day before is May 7.
    # Rails: 25 + 11 = 36, none in the yard, 36 at 21.50 = 774.00. Job 11 hangs on May 14: May 9.
    put_in(POST, 10)
    put_in(BAG, 20)

    found = the_list()

    told = {
        row.item: (row.needed, row.in_yard, row.on_order, row.to_buy, row.cost, row.order_by)
        for group in found.groups
        for row in group.rows
    }
    assert told == {
        "post": (20, 10, 0, 10, Decimal("380.00"), may(6)),
        "bag": (79, 20, 0, 59, Decimal("383.50"), may(7)),
        "rail": (36, 0, 0, 36, Decimal("774.00"), may(9)),
    }
    assert [(group.name, group.cost) for group in found.groups] == [
        ("Dunmere Builders", Decimal("383.50")),
        ("Quarry Bend Supply", Decimal("1154.00")),
    ]
    assert row_of(POST, found).first_day == may(8)


def test_only_phases_of_the_days_are_asked_for_and_others_still_take_first(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    put_in(POST, 10)

    found = the_list(may(9), may(12))

    # Job 12 set its posts the day before the range, and has 6 of the 10.
    assert [
        (row.item, row.needed, row.in_yard) for group in found.groups for row in group.rows
    ] == [
        ("bag", 52, 0),
        ("post", 14, 4),
    ]


def test_job_that_waits_for_its_material_is_on_the_list_before_it_has_a_day(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    jobs[0].crew_days.all().delete()

    assert row_of(POST).needed == 20
    assert row_of(POST, the_list(unplaced=False)).needed == 6


def test_items_without_a_supplier_stand_last_in_a_group_of_their_own(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    needs(jobs[0], post=14, bag=52, rail=25, latch=1)

    last = the_list().groups[-1]

    assert (last.name, last.key, [row.item for row in last.rows]) == ("", "", ["latch"])


def test_ground_as_it_was_marked_counts_and_not_what_was_sold(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    GroundChange.objects.create(
        proposal=jobs[0].proposal,
        version=1,
        document={},
        result=take_off(post=16, bag=58, rail=27),
        made_at=NOW,
    )

    assert [row_of(item).needed for item in (POST, BAG, RAIL)] == [22, 85, 38]


def test_what_a_person_wrote_down_as_here_is_not_bought(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    set_material(
        phase=jobs[0].phases.get(kind="set"),
        is_needed=True,
        promised_on=None,
        received_on=TODAY,
        actor=None,  # type: ignore[arg-type]
        now=NOW,
    )

    found = the_list()

    assert row_of(POST, found).needed == 6
    assert [(one.job, one.phase.kind) for one in found.by_hand] == [(jobs[0], "set")]


def test_finished_phase_and_called_off_job_need_nothing(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    jobs[0].phases.filter(kind="set").update(finished_on=TODAY)
    FenceJob.objects.filter(pk=jobs[1].pk).update(
        state="called_off", called_off_at=NOW, called_off_reason="Cancelled"
    )

    rows = [row for group in the_list().groups for row in group.rows]

    assert [(row.item, row.needed) for row in rows] == [("rail", 25)]


# --- Orders ---


def test_sent_order_has_the_next_number_and_never_changes(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    FirmProfile.objects.update(next_order_number=77)

    order = sent(suppliers[0], post=10, rail=36)

    assert (order.number, order.sent_on, FirmProfile.objects.get().next_order_number) == (
        77,
        TODAY,
        78,
    )
    # 10 x 38.00 + 36 x 38.00 = 46 x 38.00 = 1,748.00.
    assert (order.content["total"], order.content["supplier"]["account_number"]) == (
        "$1,748.00",
        "K-41",
    )
    with pytest.raises(OrderIsFinalError):
        order.save()
    with pytest.raises(OrderIsFinalError):
        PurchaseOrder.objects.update(note="More")
    with pytest.raises(OrderIsFinalError):
        order.lines.all()[0].save()
    with pytest.raises(IntegrityError), transaction.atomic():
        OrderLine.objects.update(count=99)
    with pytest.raises(Refusal, match="sent already"):
        orders.change_draft(order=order, values={}, counts={}, unit_costs={}, actor=None, now=NOW)


def test_second_office_that_sends_the_same_draft_is_told_so(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    order = draft(suppliers[0], post=10)
    seen_by_another = PurchaseOrder.objects.get(pk=order.pk)

    orders.send_order(order=order, to="", actor=None, now=NOW)
    with pytest.raises(Refusal, match="sent already"):
        orders.send_order(order=seen_by_another, to="", actor=None, now=NOW)

    assert PurchaseOrder.objects.count() == 1
    assert FirmProfile.objects.get().next_order_number == 1002
    assert AuditEntry.objects.filter(action="sent a purchase order").count() == 1


def test_one_draft_stands_for_each_supplier(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    draft(suppliers[0], post=10)

    with pytest.raises(Refusal, match="draft to this supplier"):
        draft(suppliers[0], rail=2)


def test_order_is_printed_and_mailed_to_the_supplier(
    jobs: tuple[FenceJob, FenceJob],
    suppliers: tuple[Supplier, Supplier],
    django_capture_on_commit_callbacks: object,
) -> None:
    order = draft(suppliers[0], post=10)
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        orders.send_order(order=order, to="sales@quarry.example", actor=None, now=NOW)

    order.refresh_from_db()
    with order.pdf.open("rb") as file:
        assert file.read(5) == b"%PDF-"
    mail = OutgoingMail.objects.get()
    assert mail.to == "sales@quarry.example"
    assert mail.attachments.get().name == "order-1001.pdf"


def test_cancelled_order_is_to_be_bought_again_but_what_came_stays(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    order = sent(suppliers[0], post=20)
    comes(order, POST, 5)
    assert (row_of(POST).in_yard, row_of(POST).on_order, row_of(POST).to_buy) == (5, 15, 0)

    with pytest.raises(Refusal) as refused:
        orders.cancel_order(order=order, reason=" ", actor=None, now=NOW)
    assert refused.value.field == "reason"
    orders.cancel_order(order=order, reason="Too late", actor=None, now=NOW)

    assert (row_of(POST).in_yard, row_of(POST).on_order, row_of(POST).to_buy) == (5, 0, 15)
    with pytest.raises(Refusal, match="not on its way"):
        comes(order, POST, 1)


@pytest.mark.parametrize("count", [-1, 100_001])
def test_draft_refuses_a_count_that_is_none(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier], count: int
) -> None:
    order = draft(suppliers[0], post=10)
    line = line_of(order, POST)

    with pytest.raises(Refusal) as refused:
        orders.change_draft(
            order=order, values={}, counts={line.pk: count}, unit_costs={}, actor=None, now=NOW
        )

    assert refused.value.field == f"count-{line.pk}"
    assert line_of(order, POST).count == 10


# --- What came, and the phases' days ---


def test_orders_say_when_a_phase_has_its_material(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    # Job 12 sets first: its 6 posts are the first of the 20, its 27 bags of the 79.
    posts, bags = sent(suppliers[0], post=20), sent(suppliers[1], bag=79)
    assert days_of(jobs[1], "set") == (None, None)

    promise(posts, may(6))
    assert days_of(jobs[1], "set") == (None, None)  # the bags are promised for no day
    promise(bags, may(7))
    assert days_of(jobs[1], "set") == (may(7), None)

    comes(posts, POST, 6)
    assert days_of(jobs[1], "set") == (may(7), None)
    comes(bags, BAG, 27)
    assert days_of(jobs[1], "set") == (may(7), TODAY)
    assert days_of(jobs[0], "set") == (may(7), None)
    assert days_of(jobs[0], "hang") == (None, None)


def test_day_written_down_by_hand_stays(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    JobPhase.objects.filter(job=jobs[1], kind="set").update(material_promised_on=may(5))

    promise(sent(suppliers[0], post=20), may(6))
    promise(sent(suppliers[1], bag=79), may(6))

    assert days_of(jobs[1], "set") == (may(5), None)
    assert days_of(jobs[0], "set") == (may(6), None)


def test_day_that_the_orders_said_goes_with_them(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    posts, bags = sent(suppliers[0], post=20), sent(suppliers[1], bag=79)
    promise(posts, may(6))
    promise(bags, may(6))
    assert days_of(jobs[0], "set") == (may(6), None)

    orders.cancel_order(order=bags, reason="Out of business", actor=None, now=NOW)

    assert days_of(jobs[0], "set") == (None, None)
    entry = AuditEntry.objects.filter(action__startswith="took a phase's material").latest("pk")
    assert entry.before["material_promised_on"] == "2026-05-06"


def test_order_to_a_site_is_for_that_job_alone_and_passes_the_yard_by(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    order = sent(suppliers[0], job=jobs[0], post=14)
    assert (row_of(POST).on_order, row_of(POST).to_buy) == (14, 6)

    comes(order, POST, 14)

    assert not YardStock.objects.exists()
    assert (row_of(POST).at_site, row_of(POST).in_yard, row_of(POST).to_buy) == (14, 0, 6)


def test_part_came_damaged_and_goes_back(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    order = sent(suppliers[0], post=20)

    comes(order, POST, 12, damaged=3)

    assert lies(POST) == 12
    assert (row_of(POST).in_yard, row_of(POST).on_order, row_of(POST).to_buy) == (12, 8, 0)


def test_more_than_ordered_is_asked_about(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    order = sent(suppliers[0], post=20)
    comes(order, POST, 15)
    line = line_of(order, POST)

    with pytest.raises(Refusal, match=r"Ordered 20, 15 came before\. Did 6 really come") as refused:
        comes(order, POST, 6)
    assert refused.value.field == f"count-{line.pk}"
    assert lies(POST) == 15

    receive(
        order=order,
        came={line.pk: Came(count=6)},
        received_on=TODAY,
        more_is_right=True,
        actor=None,
        now=NOW,
    )
    assert lies(POST) == 21


@pytest.mark.parametrize(
    ("came", "day", "field", "words"),
    [
        (Came(count=-1), TODAY, "count", "0 or more"),
        (Came(count=1, damaged=-1), TODAY, "damaged", "0 or more"),
        (Came(count=1), TODAY + DAY, "received_on", "still to come"),
        (Came(count=1), TODAY - DAY, "received_on", "not sent yet"),
        (Came(), TODAY, "", "how many"),
    ],
)
def test_receipt_that_can_not_be_is_refused(
    jobs: tuple[FenceJob, FenceJob],
    suppliers: tuple[Supplier, Supplier],
    came: Came,
    day: dt.date,
    field: str,
    words: str,
) -> None:
    order = sent(suppliers[0], post=20)

    with pytest.raises(Refusal, match=words) as refused:
        receive(
            order=order,
            came={line_of(order, POST).pk: came},
            received_on=day,
            actor=None,
            now=NOW,
        )

    assert refused.value.field.split("-")[0] == field
    assert not Receipt.objects.exists()


def test_nothing_comes_of_a_draft_and_nothing_is_promised(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    order = draft(suppliers[0], post=20)

    with pytest.raises(Refusal, match="not on its way"):
        comes(order, POST, 1)
    with pytest.raises(Refusal, match="Only a sent order"):
        promise(order, may(9))


def test_nothing_is_promised_for_a_day_before_the_order(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    order = sent(suppliers[0], post=20)

    with pytest.raises(Refusal, match="went out on May 4") as refused:
        promise(order, TODAY - DAY)

    assert refused.value.field == f"promise-{line_of(order, POST).pk}"


# --- The yard ---


def test_loaded_material_leaves_the_yard_and_the_list(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    put_in(POST, 10)

    load_items(job=jobs[1], counts={POST: 6}, moved_on=TODAY, actor=None, now=NOW)

    assert lies(POST) == 4
    assert (row_of(POST).needed, row_of(POST).in_yard, row_of(POST).to_buy) == (14, 4, 10)


def test_no_more_is_loaded_than_lies_there(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    put_in(POST, 5)

    with pytest.raises(Refusal, match="Only 5 of it lie in the yard") as refused:
        load_items(job=jobs[1], counts={POST: 6}, moved_on=TODAY, actor=None, now=NOW)

    assert refused.value.field == "post"
    assert lies(POST) == 5


def test_second_phone_that_loads_the_same_is_told_so(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    put_in(POST, 20)
    seen = {"post": 0}
    load_items(job=jobs[1], counts={POST: 6}, seen=seen, moved_on=TODAY, actor=None, now=NOW)

    with pytest.raises(Refusal, match="6 are on the truck"):
        load_items(job=jobs[1], counts={POST: 6}, seen=seen, moved_on=TODAY, actor=None, now=NOW)

    assert lies(POST) == 14


def test_leftovers_come_back_and_the_next_job_takes_them(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    put_in(POST, 6)
    load_items(job=jobs[1], counts={POST: 6}, moved_on=TODAY, actor=None, now=NOW)
    jobs[1].phases.filter(kind="set").update(finished_on=TODAY)

    with pytest.raises(Refusal, match="Only 6 of it went out"):
        return_leftovers(
            job=jobs[1], counts={POST: 7}, limits={}, moved_on=TODAY, actor=None, now=NOW
        )
    return_leftovers(job=jobs[1], counts={POST: 2}, limits={}, moved_on=TODAY, actor=None, now=NOW)

    # Job 11 needs 14: the 2 leftovers, and 12 to buy.
    assert (row_of(POST).needed, row_of(POST).in_yard, row_of(POST).to_buy) == (14, 2, 12)


def test_count_is_put_right_with_a_reason_and_never_below_zero(crew: Crew) -> None:
    put_in(POST, 10)

    with pytest.raises(Refusal) as refused:
        correct_stock(item=POST, counted=-1, seen=None, reason="x", actor=None, now=NOW)
    assert refused.value.field == "counted"
    with pytest.raises(Refusal) as refused:
        correct_stock(item=POST, counted=8, seen=None, reason=" ", actor=None, now=NOW)
    assert refused.value.field == "reason"
    with pytest.raises(Refusal, match="It says 10 by now, not 12"):
        correct_stock(item=POST, counted=8, seen=12, reason="Two split", actor=None, now=NOW)

    correct_stock(item=POST, counted=8, seen=10, reason="Two split", actor=None, now=NOW)

    assert lies(POST) == 8
    assert list(StockMove.objects.order_by("pk").values_list("change", flat=True)) == [10, -2]


def test_moves_and_receipts_are_kept_and_the_count_is_never_negative(
    jobs: tuple[FenceJob, FenceJob], suppliers: tuple[Supplier, Supplier]
) -> None:
    comes(sent(suppliers[0], post=20), POST, 20)

    for rows, changes in (
        (StockMove.objects, {"change": 99}),
        (Receipt.objects, {"count": 99}),
        (YardStock.objects, {"count": -1}),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.update(**changes)


def test_lists_take_no_query_more_for_more_jobs(
    crew: Crew,
    suppliers: tuple[Supplier, Supplier],
    django_assert_max_num_queries: object,
) -> None:
    for number in range(31, 37):
        job = needs(make_full_job(number, on=TODAY), post=14, bag=52, rail=25)
        job.phases.update(material_received_on=None)

    # Jobs, phases, their days from orders, crew days, moves, receipts, take-offs, ground,
    # stock, orders, suppliers, drafts.
    with django_assert_max_num_queries(12):  # type: ignore[operator]
        assert row_of(POST).needed == 84
