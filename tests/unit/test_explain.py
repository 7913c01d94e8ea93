"""Every figure of an estimate adds up from what it names, to the cent, down to posts and rows."""

import json
import math
from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from estimating.engine.catalog import Catalog, Override, TypedLine
from estimating.engine.chain import MONEY, PERCENT, Node, walk
from estimating.engine.estimate import estimate, estimate_lines
from estimating.engine.explain import Explanation, explain
from estimating.engine.reading import read_catalog, read_site, read_typed_lines
from estimating.engine.result import EstimateResult
from estimating.engine.site import Conditions, Gate, GroundShot
from firm.measure.money import to_cents
from tests.engine_cases import catalog, straight_line
from tests.starter_cases import estimate_line, fence_line, starter_catalog

GOLDEN = Path(__file__).parents[1] / "golden"
SITES = ("straight_vinyl", "corner_chain_link", "closed_and_shared")
TYPED = (
    TypedLine(
        key="haul", description="Haul the brush", unit_cost=Decimal("83.33"), labor_hours=2.5
    ),
    TypedLine(key="stain", description="Stain", price=Decimal("640.00"), unit_cost=Decimal(200)),
    TypedLine(key="light", description="Lights", price=Decimal(90), is_optional=True),
)
BY_HAND = (
    Override(target="quantity:rail", value=Decimal(12), reason="two rails are in the yard"),
    Override(target="unit_cost:rail", value=Decimal("2.50"), reason="asked the yard"),
    Override(target="hours:hang", value=Decimal("9.25"), reason="narrow yard"),
)


def golden(name: str) -> tuple[EstimateResult, Catalog]:
    document = json.loads((GOLDEN / f"{name}.json").read_text())
    book = read_catalog(
        {key: document[key] for key in ("fence_systems", "prices", "rates", "rules")}
    )
    return estimate(read_site(document), book, typed=read_typed_lines(document)), book


def value_of(node: Node) -> Decimal:
    return node.figure / 100 if node.unit == PERCENT else node.figure


def wrong_with(node: Node) -> str:
    """Return what is wrong with one node, or nothing."""
    figures = [child.figure for child in node.children]
    if node.joins == "sum" and sum(figures, Decimal(0)) != node.figure:
        return f"{node.label}: {figures} do not add up to {node.figure}"
    if node.joins == "product":
        came = math.prod([value_of(child) for child in node.children], start=Decimal(1))
        if node.unit == MONEY and to_cents(came) != node.figure:
            return f"{node.label}: {came} is not {node.figure}"
        if abs(came - node.figure) > Decimal("0.00001"):
            return f"{node.label}: {came} is not {node.figure}" if node.unit != MONEY else ""
    if node.joins == "quotient":
        first, *others = figures
        if abs(first / math.prod(others, start=Decimal(1)) - node.figure) > Decimal("0.000001"):
            return f"{node.label}: {figures} do not give {node.figure}"
    if not node.children and not (node.posts or node.bays or node.source):
        return f"{node.label}: a leaf that names nothing"
    return ""


def test_the_check_notices_a_cent_too_much_and_a_leaf_that_names_nothing() -> None:
    leaf = Node(label="Rail", figure=Decimal("2.10"), unit=MONEY, source="price book, rail")
    count = Node(label="Bought", figure=Decimal(3), unit="each", posts=(1, 2, 3))
    whole = Node(
        label="Rails", figure=Decimal("6.30"), unit=MONEY, joins="product", children=(count, leaf)
    )
    assert wrong_with(whole) == ""
    assert "is not 6.31" in wrong_with(replace(whole, figure=Decimal("6.31")))
    added = replace(whole, joins="sum", figure=Decimal("5.10"))
    assert wrong_with(added) == ""
    assert "do not add up" in wrong_with(replace(added, figure=Decimal("5.11")))
    divided = replace(whole, joins="quotient", unit="each", figure=Decimal("1.428571"))
    assert wrong_with(divided) == ""
    assert "do not give" in wrong_with(replace(divided, figure=Decimal("1.42")))
    assert "names nothing" in wrong_with(replace(leaf, source=""))


def check(explained: Explanation, result: EstimateResult) -> None:
    """Walk the whole chain, and hold it against the result it explains."""
    roots = (explained.price, *explained.parts)
    nodes = [node for root in roots for node in walk(root)]
    assert [words for node in nodes if (words := wrong_with(node))] == []
    assert explained.price.figure == result.money.price
    for line in result.cost_lines:
        node = explained.node(f"cost:{line.kind}:{line.item}")
        assert node is not None, line.item
        assert node.figure == line.amount
    assert [part.figure for part in explained.parts] == [p.amount for p in result.price_lines]
    # Across the customer's lines, each line of the cost sheet is shared out whole.
    for line in result.cost_lines:
        assert shared_out(explained, f"cost:{line.kind}:{line.item}") == line.amount, line.item
    for key in ("overhead", "margin", "commission"):
        assert shared_out(explained, key) == getattr(result.money, key)
    keys = [node.key for node in nodes if node.key]
    assert len(keys) == len(set(keys))


def shared_out(explained: Explanation, source: str) -> Decimal:
    return sum(
        (
            node.figure
            for part in explained.parts
            for node in walk(part)
            if node.source == source and node.unit == MONEY
        ),
        Decimal(0),
    )


@pytest.mark.parametrize("name", SITES)
def test_every_line_of_the_golden_sites_adds_up_from_posts_bays_and_rows(name: str) -> None:
    result, book = golden(name)

    check(explain(result, book), result)


GATES = (
    Gate(id="G1", station_in=240.0, clear_opening_in=48.0),
    Gate(id="G2", station_in=500.0, clear_opening_in=120.0, leaves=2, use="drive"),
)
HILL = (
    GroundShot(station_in=0.0, elevation_in=0.0),
    GroundShot(station_in=600.0, elevation_in=80.0),
    GroundShot(station_in=1080.0, elevation_in=230.0),
)


@pytest.mark.parametrize("system", sorted(starter_catalog().systems))
def test_every_fence_of_the_starter_set_adds_up_on_a_hill_with_gates(system: str) -> None:
    book = starter_catalog()
    place = Conditions(
        dig_method="skid_steer",
        access_width_in=48.0,
        rock_holes=2,
        wet_holes=1,
        frozen_ground=True,
        drive_min=40.0,
        permit_fee="60.00",
    )
    line = fence_line(system, [90.0, 41.5], gates=GATES, ground=HILL)
    result = estimate_line(line, book, place)

    check(explain(result, book), result)


@pytest.mark.parametrize(
    "rules",
    [
        {"overhead_method": "per_labor_hour", "overhead_rate": Decimal("37.50")},
        {"overhead_method": "percent_of_direct", "overhead_rate": Decimal(18)},
        {"commission_pct": Decimal(5), "sales_tax_base": "all", "sales_tax_pct": Decimal("7.25")},
        {"sales_tax_base": "material", "sales_tax_pct": Decimal(6), "purchase_tax_pct": Decimal(7)},
        {"minimum_charge": Decimal(9000)},
        {"travel_per_trip": Decimal(85), "ticket_fee": Decimal(15)},
        {"price_rounding": Decimal(10)},
        {"equipment": {"skid_steer": "cap"}},
    ],
)
def test_it_adds_up_whatever_the_rules(rules: dict[str, Any]) -> None:
    book = replace(catalog(), rules=replace(catalog().rules, **rules))
    lines = [
        straight_line(bays=5),
        straight_line(bays=3, line_id="B", scope="posts_only"),
        replace(straight_line(bays=2, line_id="C", scope="removal"), old_footings=2),
    ]
    result = estimate_lines(lines, book, Conditions(dig_method="skid_steer"), typed=TYPED)

    check(explain(result, book), result)


@pytest.mark.parametrize(
    "by_hand",
    [
        BY_HAND,
        (Override(target="price", value=Decimal(4000), reason="agreed"),),
        # Below its own cost, and below the lines with a price of their own.
        (Override(target="price", value=Decimal(300), reason="a favour"),),
        (Override(target="price", value=Decimal(0), reason="a gift"),),
        (Override(target="hours:removal", value=Decimal(3), reason="a shed"),),
    ],
)
def test_it_adds_up_with_figures_set_by_hand(by_hand: tuple[Override, ...]) -> None:
    lines = [straight_line(bays=5), straight_line(bays=2, line_id="B")]
    result = estimate_lines(
        lines,
        catalog(),
        Conditions(dig_method="skid_steer"),
        typed=TYPED,
        hand_set_figures=by_hand,
    )

    check(explain(result, catalog(), overrides=by_hand), result)


def test_a_repair_without_a_fence_adds_up() -> None:
    result = estimate_lines([], catalog(), Conditions(), typed=TYPED)

    check(explain(result, catalog()), result)


def test_a_job_of_nothing_adds_up() -> None:
    result = estimate_lines([], catalog(minimum_charge=Decimal(0)), Conditions())

    check(explain(result, catalog()), result)


def named(nodes: Iterable[Node], label: str) -> Node:
    return next(node for node in nodes if node.label == label)


def test_digging_goes_back_to_nine_posts_and_one_row() -> None:
    # Worked beside the golden site: 9 holes x 0.9 h = 8.1 h, x $58.00 = $469.80.
    result, book = golden("straight_vinyl")
    dated = replace(book, rates=replace(book.rates, since={}))
    line = explain(result, dated).node("cost:labour:dig")

    assert line is not None
    assert (line.figure, line.joins) == (Decimal("469.80"), "product")
    hours, rate = line.children
    assert (hours.figure, rate.figure) == (Decimal("8.1"), Decimal(58))
    (work,) = hours.children
    count, each = work.children
    assert count.figure == 9
    assert count.posts == (1, 2, 3, 4, 5, 6, 7, 8, 9)
    assert (each.figure, each.source) == (
        Decimal("0.9"),
        "production rates, dig.normal.two_man_auger",
    )


def test_screws_go_back_to_seven_bays_waste_and_two_boxes() -> None:
    # 7 bays x 12 = 84, + 5 % = 88.2, 2 boxes of 50 at $9.95 = $19.90.
    result, book = golden("straight_vinyl")
    line = explain(result, book).node("cost:material:screw")

    assert line is not None
    bought, cost = line.children
    assert (bought.figure, bought.unit, cost.figure) == (Decimal(2), "box", Decimal("9.95"))
    in_packs, pack = bought.children
    assert (in_packs.figure, pack.figure) == (Decimal(100), Decimal(50))
    need, waste, rest = in_packs.children
    assert (need.figure, need.line_id) == (Decimal(84), "A")
    assert need.bays == (1, 2, 3, 4, 5, 6, 7)
    assert (waste.figure, rest.figure) == (Decimal("4.2"), Decimal("11.8"))


def test_the_row_of_a_price_and_of_a_rate_bring_their_days() -> None:
    book = catalog()
    prices = {key: replace(row, checked_on="2026-05-04") for key, row in book.prices.items()}
    rates = replace(book.rates, since={"hours.dig.normal.skid_steer": "2026-02-01"})
    dated = replace(book, prices=prices, rates=rates)
    result = estimate_lines([straight_line(bays=3)], dated, Conditions(dig_method="skid_steer"))
    explained = explain(result, dated)

    rail, dig = explained.node("cost:material:rail"), explained.node("cost:labour:dig")
    assert rail is not None
    assert dig is not None
    assert rail.children[1].since == "2026-05-04"
    rows = [node for node in walk(dig) if node.source.startswith("production rates")]
    assert [(row.source, row.since) for row in rows] == [
        ("production rates, dig.normal.skid_steer", "2026-02-01")
    ]


def test_a_figure_set_by_hand_says_who_it_replaced_and_why() -> None:
    result = estimate_lines(
        [straight_line(bays=5)],
        catalog(),
        Conditions(dig_method="skid_steer"),
        hand_set_figures=BY_HAND,
    )
    explained = explain(result, catalog(), overrides=BY_HAND)

    # 5 bays x 3 rails = 15 needed; 12 bought.
    rail = explained.node("cost:material:rail")
    assert rail is not None
    bought, cost = rail.children
    by_hand = named(bought.children, "Set by hand")
    assert (by_hand.figure, by_hand.rule) == (Decimal(-3), "two rails are in the yard")
    assert (cost.figure, cost.rule) == (Decimal("2.50"), "set by hand: asked the yard")
    # 5 x 0.5 = 2.5 h counted; 9.25 by hand.
    hang = explained.node("cost:labour:hang")
    assert hang is not None
    assert named(hang.children[0].children, "Set by hand").figure == Decimal("6.75")


def test_an_estimate_kept_before_its_parts_were_is_explained_by_its_steps() -> None:
    result, book = golden("straight_vinyl")
    old = replace(
        result,
        quantities=tuple(replace(each, needs=()) for each in result.quantities),
        hours=tuple(replace(each, works=()) for each in result.hours),
    )
    explained = explain(old, book)

    nodes = [node for root in (explained.price, *explained.parts) for node in walk(root)]
    assert [words for node in nodes if (words := wrong_with(node))] == []
    dig = explained.node("cost:labour:dig")
    assert dig is not None
    assert "9 x 0.9 h" in dig.children[0].children[0].source
    assert explained.node("no such line") is None
