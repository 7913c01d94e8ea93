"""What the buying list asks for."""

import datetime as dt
from decimal import Decimal

import pytest

from estimating.models import GroundChange, Supplier
from scheduling.models import (
    FenceJob,
)
from scheduling.services.job_details import set_material
from tests.buying_cast import (
    BAG,
    POST,
    RAIL,
    needs,
    put_in,
    take_off,
)
from tests.buying_steps import (
    row_of,
    the_list,
)
from tests.crew_cast import may
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


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
