"""What came, and what that says of the phases' days."""

import datetime as dt

import pytest

from estimating.models import Supplier
from firm.errors import Refusal
from firm.models import AuditEntry
from scheduling.models import (
    FenceJob,
    JobPhase,
    Receipt,
    YardStock,
)
from scheduling.services import orders
from scheduling.services.receipts import Came, receive
from tests.buying_cast import (
    BAG,
    POST,
    lies,
)
from tests.buying_steps import (
    comes,
    days_of,
    draft,
    line_of,
    promise,
    row_of,
    sent,
)
from tests.crew_cast import may
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


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
