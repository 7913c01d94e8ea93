"""The ground as found becomes a version, and drafts one change order with the whole difference."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from estimating.engine.estimate import estimate as work_out
from estimating.engine.reading import read_catalog, read_site
from estimating.engine.result import EstimateResult
from estimating.models import ChangeOrder, GroundChange, Proposal
from estimating.selectors.grounds import (
    Entries,
    FoundLine,
    MovedPost,
    NoDigStrip,
    ground_lines,
    ground_of,
    ground_versions,
)
from estimating.services.change_orders import ChangeSignature, sign_change_order
from estimating.services.ground_changes import record_ground_change
from firm.errors import Refusal
from firm.models import AuditEntry, Role
from tests.cast import make_person
from tests.factories import NOW, make_firm
from tests.ground_cast import ground_document, make_ground_estimate, make_sold_ground
from tests.job_cast import make_fence_job

pytestmark = pytest.mark.django_db
LONGER = Entries(lines=(FoundLine(line_id="A", leg_lengths_in=(396.0,)),))


@pytest.fixture
def proposal(db: None) -> Proposal:
    make_firm()
    return make_sold_ground()


def mark(proposal: Proposal, entries: Entries, **changes: Any) -> GroundChange:
    return record_ground_change(
        proposal_id=proposal.pk, entries=entries, actor=None, now=NOW, **changes
    )


def move(number: int, station_in: float) -> Entries:
    return Entries(moved=(MovedPost(number=number, station_in=station_in),))


def drafts(proposal: Proposal) -> list[ChangeOrder]:
    return list(ChangeOrder.objects.filter(proposal=proposal, state="draft"))


def sold_at(proposal: Proposal, first_leg_in: float, **rules: Any) -> EstimateResult:
    """Return what the engine asks for the site with another first leg, by the sold catalog."""
    catalog = proposal.estimate.catalog
    catalog = {**catalog, "rules": {**catalog["rules"], **rules}}
    document = ground_document(legs=[{"length_in": first_leg_in, "turn_deg": 0.0}])
    return work_out(read_site(document), read_catalog(catalog))


def station_of(change: GroundChange, number: int) -> float:
    posts = [post for line in change.result["lines"] for post in line["posts"]]
    return next(float(post["station_in"]) for post in posts if post["number"] == number)


def test_longer_leg_is_version_one_with_a_drafted_change_order(proposal: Proposal) -> None:
    person = make_person(Role.OFFICE)
    change = record_ground_change(
        proposal_id=proposal.pk, entries=LONGER, note="Pin 1 ft on", actor=person, now=NOW
    )
    assert (change.version, change.note, change.made_by) == (1, "Pin 1 ft on", person)
    assert change.document["lines"][0]["legs"] == [{"length_in": 396.0, "turn_deg": 0.0}]
    (order,) = drafts(proposal)
    sold, found = sold_at(proposal, 360.0), sold_at(proposal, 396.0)
    assert order.ground_change == change
    assert order.price_before_tax == (found.money.price_before_tax - sold.money.price_before_tax)
    assert order.price_before_tax > 0
    assert order.direct_cost == found.money.direct_cost - sold.money.direct_cost
    hours = Decimal(str(found.total_hours)) - Decimal(str(sold.total_hours))
    assert order.labor_hours == round(hours, 2)
    # 396 in needs 5 bays where 360 took 4; the other line has 3 posts.
    assert "Back line: measures 33 ft, not 30 ft as sold." in order.description
    assert "Posts: 9, not 8 as sold." in order.description
    assert AuditEntry.objects.filter(action="marked the ground", actor=person).count() == 1
    assert AuditEntry.objects.filter(action="drafted a change order").count() == 1


def test_shorter_leg_gives_money_back(proposal: Proposal) -> None:
    mark(proposal, Entries(lines=(FoundLine(line_id="A", leg_lengths_in=(288.0,)),)))
    (order,) = drafts(proposal)
    assert order.price_before_tax < 0
    assert order.labor_hours < 0


def test_moved_post_that_costs_nothing_makes_a_version_and_no_order(proposal: Proposal) -> None:
    change = mark(proposal, move(7, 95.0))
    # Line B: 2 full bays of 96; now 95 and cut, and 97 over the maximum.
    assert station_of(change, 7) == 95.0
    order = drafts(proposal)
    # One bay is cut now: a little more work, by the engine's own rates.
    assert [each.labor_hours for each in order] == [
        round(
            Decimal(str(change.result["total_hours"]))
            - Decimal(str(sold_at(proposal, 360.0).total_hours)),
            2,
        )
    ]


def test_moved_post_beside_the_mark_changes_how_it_is_dug(proposal: Proposal) -> None:
    # Gas at 150, zone 27 in, hole 6 in: post 3 at 180 is dug by hand; at 184 it is free.
    assert [post["hand_dig"] for post in proposal.estimate.result["lines"][0]["posts"]] == [
        False,
        False,
        True,
        False,
        False,
    ]
    change = mark(proposal, move(3, 184.0))
    assert not change.result["lines"][0]["posts"][2]["hand_dig"]
    (order,) = drafts(proposal)
    assert order.labor_hours < 0
    assert "Holes dug by hand beside marked utilities: 0, not 1 as sold." in order.description


def test_mark_found_elsewhere_replaces_the_one_that_was_drawn(proposal: Proposal) -> None:
    water = NoDigStrip(station_in=90.0, facility_width_in=2.0, utility="water", hand_dig=True)
    change = mark(proposal, Entries(lines=(FoundLine(line_id="A", marks=(water,)),)))
    assert change.document["lines"][0]["no_dig"] == [
        {
            "station_in": 90.0,
            "facility_width_in": 2.0,
            "crossing_deg": 90.0,
            "utility": "water",
            "hand_dig": True,
        }
    ]
    assert [post["hand_dig"] for post in change.result["lines"][0]["posts"]] == [
        False,
        True,
        False,
        False,
        False,
    ]


def test_customer_reads_which_post_stands_how_far_elsewhere(proposal: Proposal) -> None:
    mark(proposal, move(7, 91.5))
    # Post 7 stands in the middle of line B: 192 / 2 = 96 in, or 8 ft; 96 - 91.5 = 4 1/2.
    [order] = drafts(proposal)
    assert order.description == (
        "Side line: the post laid out at 8 ft stands 4 1/2 in further back; panels are cut to fit."
    )


def test_moving_there_and_back_is_the_sold_result_and_no_order_stays(proposal: Proposal) -> None:
    mark(proposal, move(3, 184.0))
    back = mark(proposal, move(3, 180.0))
    assert back.version == 2
    assert back.result == proposal.estimate.result
    assert drafts(proposal) == []
    (dropped,) = ChangeOrder.objects.all()
    assert (dropped.state, dropped.decided_note) == (
        "dropped",
        "Replaced by version 2 of the ground.",
    )


def test_no_entry_is_refused_and_writes_nothing(proposal: Proposal) -> None:
    for entries in (Entries(), move(2, 90.0)):
        with pytest.raises(Refusal, match="Nothing differs"):
            mark(proposal, entries)
    assert not GroundChange.objects.exists()


def test_second_version_starts_from_the_first_and_leaves_one_draft(proposal: Proposal) -> None:
    mark(proposal, move(7, 95.0))
    change = mark(proposal, LONGER)
    # Line A has a post more, so line B's post 7 is 8 now and stands where it stood.
    assert station_of(change, 8) == 95.0
    (order,) = drafts(proposal)
    assert (order.number, order.ground_change) == (2, change)
    assert [each.state for each in ChangeOrder.objects.order_by("number")] == ["dropped", "draft"]


def test_draft_is_the_whole_difference_less_what_is_signed(proposal: Proposal) -> None:
    mark(proposal, LONGER)
    (first,) = drafts(proposal)
    signature = ChangeSignature(name="Wren Halloway", way="phone")
    sign_change_order(order=first, signature=signature, actor=None, now=NOW)
    change = mark(proposal, Entries(lines=(FoundLine(line_id="A", leg_lengths_in=(480.0,)),)))
    (second,) = drafts(proposal)
    sold, found = sold_at(proposal, 360.0), sold_at(proposal, 480.0)
    whole = found.money.price_before_tax - sold.money.price_before_tax
    assert first.price_before_tax + second.price_before_tax == whole
    assert first.direct_cost + second.direct_cost == (
        found.money.direct_cost - sold.money.direct_cost
    )
    assert any("Change order 1" in each and "signed" in each for each in change.entries["remarks"])


def test_price_set_by_hand_is_left_out_of_both_build_ups() -> None:
    make_firm()
    proposal = make_sold_ground(by_hand=(("price", "9000"),))
    change = mark(proposal, LONGER)
    (order,) = drafts(proposal)
    sold, found = sold_at(proposal, 360.0), sold_at(proposal, 396.0)
    assert proposal.estimate.price_before_tax == 9000
    assert order.price_before_tax == (found.money.price_before_tax - sold.money.price_before_tax)
    assert any("set by hand to $9,000.00" in each for each in change.entries["remarks"])
    # What was sold stays the result's own price.
    assert change.result["money"]["price_before_tax"] == "9000.00"


def test_hours_set_by_hand_count_in_both_and_are_named() -> None:
    make_firm()
    proposal = make_sold_ground(by_hand=(("hours:dig", "12"),))
    change = mark(proposal, LONGER)
    (dig,) = (each for each in change.result["hours"] if each["phase"] == "dig")
    assert dig["labor_hours"] == 12.0
    assert "Hours of dig were set by hand and count as sold." in change.entries["remarks"]


@pytest.mark.parametrize(
    ("base", "pct", "is_taxed"), [("none", "8", False), ("all", "8", True), ("material", "8", True)]
)
def test_tax_follows_the_rule_of_the_sale(base: str, pct: str, is_taxed: bool) -> None:
    make_firm()
    rules = {"sales_tax_base": base, "sales_tax_pct": pct}
    proposal = make_sold_ground(rules=rules)
    mark(proposal, LONGER)
    (order,) = drafts(proposal)
    sold, found = sold_at(proposal, 360.0).money, sold_at(proposal, 396.0).money
    taxed = {
        "none": Decimal(0),
        "all": found.price_before_tax - sold.price_before_tax,
        "material": found.material - sold.material,
    }[base]
    assert abs(order.sales_tax - taxed * Decimal("0.08")) <= Decimal("0.01")
    assert (order.sales_tax > 0) == is_taxed


@pytest.mark.parametrize(
    ("entries", "words", "field"),
    [
        (move(1, 3.0), "an end post", "post:1"),
        (move(2, 180.0), "at or past post 3", "post:2"),
        (move(12, 50.0), "no post 12", "post:12"),
        (
            Entries(lines=(FoundLine(line_id="A", leg_lengths_in=(0.0,)),)),
            "Leg 1: the length",
            "line:A",
        ),
        (Entries(lines=(FoundLine(line_id="A", leg_lengths_in=(1.0, 2.0)),)), "1 leg", "line:A"),
        (
            Entries(
                lines=(
                    FoundLine(
                        line_id="A", marks=(NoDigStrip(station_in=90.0, facility_width_in=-2.0),)
                    ),
                )
            ),
            "^Mark 1: the width",
            "line:A",
        ),
        (Entries(lines=(FoundLine(line_id="Z", marks=()),)), "no line Z", "line:Z"),
    ],
)
def test_entry_that_can_not_be_names_its_place(
    proposal: Proposal, entries: Entries, words: str, field: str
) -> None:
    with pytest.raises(Refusal, match=words) as refused:
        mark(proposal, entries)
    assert refused.value.field == field
    assert not GroundChange.objects.exists()
    assert not ChangeOrder.objects.exists()


def test_set_posts_may_neither_move_nor_vanish_nor_change_number(proposal: Proposal) -> None:
    with pytest.raises(Refusal, match="Posts 2, 3 are set already") as refused:
        mark(proposal, LONGER, set_posts={1, 2, 3})
    assert refused.value.field == ""
    with pytest.raises(Refusal, match="Post 3 is set already") as refused:
        mark(proposal, move(3, 184.0), set_posts=[3])
    assert refused.value.field == "post:3"
    # Line B keeps its places, yet its posts would be called 7, 8 and 9.
    with pytest.raises(Refusal, match="Post 7 is set already"):
        mark(proposal, LONGER, set_posts=[7])
    # At 96 in line B would end on post 7, set as a line post, and need no post 8.
    shorter = Entries(lines=(FoundLine(line_id="B", leg_lengths_in=(96.0,)),))
    with pytest.raises(Refusal, match="Posts 7, 8 are set already"):
        mark(proposal, shorter, set_posts=[6, 7, 8])
    mark(proposal, move(3, 184.0), set_posts=[1, 2, 4])


def test_whoever_worked_on_an_older_version_is_told(proposal: Proposal) -> None:
    mark(proposal, move(3, 184.0), based_on=0)
    with pytest.raises(Refusal, match="Someone else has saved version 1"):
        mark(proposal, move(3, 186.0), based_on=0)
    assert GroundChange.objects.count() == 1


def test_work_without_a_layout_or_acceptance_has_no_ground(proposal: Proposal) -> None:
    repair = make_fence_job(number=1002).proposal
    repair.estimate.document = {"lines": []}
    repair.estimate.save()
    open_one = Proposal.objects.create(
        estimate=make_ground_estimate(number=1003),
        valid_until=NOW.date(),
        price=1,
    )
    for other in (repair, open_one):
        assert ground_of(other.pk) is None
        with pytest.raises(Refusal, match="no layout"):
            mark(other, LONGER)


def test_form_shows_where_the_layout_puts_posts_and_where_they_stand(proposal: Proposal) -> None:
    mark(proposal, move(3, 184.0))
    ground = ground_of(proposal.pk)
    assert ground is not None
    first = ground_lines(ground)[0]
    assert [(post.number, post.laid_out_in, post.stands_in) for post in first.posts] == [
        (1, 0.0, None),
        (2, 90.0, None),
        (3, 180.0, 184.0),
        (4, 270.0, None),
        (5, 360.0, None),
    ]
    assert [post.number for post in first.posts if post.is_movable] == [2, 3, 4]
    assert (first.sold_legs_in, first.legs_in) == ((360.0,), (360.0,))


def test_all_versions_but_the_newest_are_void(proposal: Proposal) -> None:
    assert [(each.version, each.is_void) for each in ground_versions(proposal.pk)] == [(0, False)]
    mark(proposal, move(3, 184.0))
    mark(proposal, move(3, 185.0))
    assert [(each.version, each.is_void) for each in ground_versions(proposal.pk)] == [
        (2, False),
        (1, True),
        (0, True),
    ]


def test_no_query_changes_a_version(proposal: Proposal) -> None:
    change = mark(proposal, move(3, 184.0))
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        QuerySet(GroundChange).update(note="something else")
    change.refresh_from_db()
    assert change.note == ""
