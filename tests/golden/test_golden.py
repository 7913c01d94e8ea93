"""Three whole sites, worked by hand before the engine first ran on them, figure by figure.

Lengths, counts and money must match exactly; volumes and hours, worked to six places, to 1e-6.
The working stands in the comments of each `*.expected.toml`.
"""

import json
import math
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from estimating.engine.estimate import estimate
from estimating.engine.reading import read_catalog, read_site, read_typed_lines
from estimating.engine.result import Bay, EstimateResult, LineLayout, Post

HERE = Path(__file__).parent
SITES = ("straight_vinyl", "corner_chain_link", "closed_and_shared")
SIXTEENTH = 0.0625

Expected = dict[str, Any]


@cache
def worked(name: str) -> Expected:
    return tomllib.loads((HERE / f"{name}.expected.toml").read_text())


@cache
def estimated(name: str) -> EstimateResult:
    document = json.loads((HERE / f"{name}.json").read_text())
    catalog = read_catalog(
        {key: document[key] for key in ("fence_systems", "prices", "rates", "rules")}
    )
    return estimate(
        read_site(document),
        catalog,
        typed=read_typed_lines(document),
    )


class Differences:
    """What was worked against what came out, gathered so that one run shows them all."""

    def __init__(self) -> None:
        self.found: list[str] = []

    def same(self, what: str, came: object, by_hand: object) -> None:
        if came != by_hand:
            self.found.append(f"{what}: the engine says {came!r}, worked by hand {by_hand!r}")

    def near(self, what: str, came: float, by_hand: float, within: float = 1e-6) -> None:
        if not math.isclose(came, by_hand, rel_tol=1e-6, abs_tol=within):
            self.found.append(f"{what}: the engine says {came!r}, worked by hand {by_hand!r}")

    def must_be_none(self) -> None:
        assert not self.found, "\n" + "\n".join(self.found)


@pytest.fixture(params=SITES)
def site(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def lines_of(name: str) -> Iterator[tuple[LineLayout, Expected]]:
    result, expected = estimated(name), worked(name)["line"]
    assert [line.line_id for line in result.lines] == [line["id"] for line in expected]
    return zip(result.lines, expected, strict=True)


def test_lines_and_sections_are_as_worked(site: str) -> None:
    seen = Differences()
    for line, expected in lines_of(site):
        seen.same(f"line {line.line_id} length", line.length_in, expected["length_in"])
        if "fence_ft" in expected:
            seen.near(f"line {line.line_id} infill ft", line.fence_ft, expected["fence_ft"])
        seen.same(
            f"line {line.line_id} sections (length, bays)",
            [(s.length_in, s.bays) for s in line.sections],
            [(s["length_in"], s["bays"]) for s in expected.get("section", ())],
        )
    seen.must_be_none()


def test_bays_and_spacers_are_as_worked(site: str) -> None:
    seen = Differences()
    for line, expected in lines_of(site):
        numbers = list(dict.fromkeys(bay.section for bay in line.bays))
        sections = expected.get("section", [])
        seen.same(f"line {line.line_id} sections with bays", len(numbers), len(sections))
        for number, section in zip(numbers, sections, strict=False):
            bays = [bay for bay in line.bays if bay.section == number]
            compare_bays(seen, f"line {line.line_id} section {number}", bays, section)
    seen.must_be_none()


def compare_bays(seen: Differences, where: str, bays: list[Bay], section: Expected) -> None:
    on_centres = [bay.on_centre_in for bay in bays]
    seen.same(f"{where} on-centres", sorted(on_centres), section["on_centre_in"])
    seen.same(f"{where} sum of bays", sum(on_centres), section["length_in"])
    seen.same(
        f"{where} on-centre less spacer",
        [bay.on_centre_in - bay.spacer_in for bay in bays],
        section["post_share_in"],
    )


def test_posts_stand_where_they_were_worked(site: str) -> None:
    seen = Differences()
    for line, expected in lines_of(site):
        posts = expected.get("post", [])
        seen.same(
            f"line {line.line_id} posts (kind, routing, item)",
            [(post.kind, post.routing, post.product) for post in line.posts],
            [(post["kind"], post["routing"], post["item"]) for post in posts],
        )
        for post, by_hand in zip(line.posts, posts, strict=False):
            compare_place(seen, f"line {line.line_id} post {post.number}", post, by_hand)
    seen.must_be_none()


def compare_place(seen: Differences, where: str, post: Post, by_hand: Expected) -> None:
    seen.same(f"{where} hand-dug", post.hand_dig, by_hand.get("hand_dig", False))
    if "station_in" in by_hand:
        seen.same(f"{where} station", post.station_in, by_hand["station_in"])
    if "near_station_in" in by_hand:
        # The odd sixteenths may go to any bay of the section.
        seen.near(f"{where} station", post.station_in, by_hand["near_station_in"], SIXTEENTH)
    if "xy_in" in by_hand:
        seen.near(f"{where} x", post.x_in, by_hand["xy_in"][0], SIXTEENTH)
        seen.near(f"{where} y", post.y_in, by_hand["xy_in"][1], SIXTEENTH)


def test_gates_are_as_worked(site: str) -> None:
    seen = Differences()
    for line, expected in lines_of(site):
        gates = expected.get("gate", [])
        seen.same(
            f"line {line.line_id} gates (id, on centre, leaf)",
            [(gate.id, gate.on_centre_in, gate.leaf_in) for gate in line.gates],
            [(gate["id"], gate["on_centre_in"], gate["leaf_in"]) for gate in gates],
        )
    seen.must_be_none()


def test_holes_are_as_worked(site: str) -> None:
    seen, result = Differences(), estimated(site)
    posts = {post.number: post for line in result.lines for post in line.posts}
    seen.same("number of holes", len(result.holes), sum(r["count"] for r in worked(site)["hole"]))
    for row in worked(site)["hole"]:
        where = f"holes of line {row['line']} {'/'.join(row['kinds'])}"
        holes = [
            hole
            for hole in result.holes
            if posts[hole.post_number].line_id == row["line"]
            and posts[hole.post_number].kind in row["kinds"]
        ]
        seen.same(f"{where}: how many", len(holes), row["count"])
        for hole in holes:
            for key in ("diameter_in", "depth_in", "concrete_length_in"):
                seen.same(f"{where}: {key}", getattr(hole, key), row[key])
            for key in ("displaced_ft3", "concrete_ft3"):
                seen.near(f"{where}: {key}", getattr(hole, key), row[key])
    seen.must_be_none()


def test_concrete_and_spoil_are_as_worked(site: str) -> None:
    seen, concrete, expected = Differences(), estimated(site).concrete, worked(site)["concrete"]
    seen.same("bags", concrete.bags, expected["bags"])
    for key in ("net_ft3", "with_waste_ft3", "cubic_yards", "spoil_loose_yd3"):
        seen.near(key, getattr(concrete, key), expected[key])
    seen.must_be_none()


def test_quantities_are_as_worked(site: str) -> None:
    seen, expected = Differences(), worked(site)["quantities"]
    came = {row.item: row for row in estimated(site).quantities}
    seen.same("items", sorted(came), sorted(expected))
    for item in sorted(came.keys() & expected.keys()):
        seen.same(f"{item} bought", came[item].purchase_units, expected[item]["units"])
        if "net" in expected[item]:
            seen.near(f"{item} net", came[item].net, expected[item]["net"])
    seen.must_be_none()


def test_each_item_has_one_quantity(site: str) -> None:
    items = [row.item for row in estimated(site).quantities]
    assert len(items) == len(set(items))


def test_rails_are_cut_as_worked(site: str) -> None:
    seen, expected = Differences(), worked(site).get("cuts", {})
    cuts = estimated(site).cuts
    for item, by_hand in expected.items():
        rows = [row for row in cuts if row.item == item]
        pieces = sum(row.pieces for row in rows)
        total = sum(row.pieces * row.length_in for row in rows)
        seen.same(f"{item} pieces", pieces, by_hand["pieces"])
        seen.same(f"{item} total of lengths", total, by_hand["total_in"])
    seen.must_be_none()


def test_hours_and_days_are_as_worked(site: str) -> None:
    seen, result, expected = Differences(), estimated(site), worked(site)
    came = {row.phase: row.labor_hours for row in result.hours if row.labor_hours}
    seen.same("phases", sorted(came), sorted(expected["hours"]))
    for phase in came.keys() & expected["hours"].keys():
        seen.near(f"{phase} hours", came[phase], expected["hours"][phase])
    seen.near("total hours", result.total_hours, expected["job"]["total_hours"])
    seen.same("equipment days", result.equipment_days, expected["job"]["equipment_days"])
    seen.same("trips", result.trips, expected["job"]["trips"])
    seen.must_be_none()


def test_cost_lines_are_as_worked(site: str) -> None:
    seen, expected, lines = Differences(), worked(site)["cost"], estimated(site).cost_lines
    came = {row.item: row.amount for row in lines if row.kind == "material"}
    by_hand = {item: Decimal(amount) for item, amount in expected["material"].items()}
    for item in sorted(came.keys() | by_hand.keys()):
        seen.same(f"cost of {item}", came.get(item), by_hand.get(item))
    for kind in ("labour", "equipment", "fee", "travel", "typed"):
        seen.same(
            f"cost lines of kind {kind}",
            sorted(row.amount for row in lines if row.kind == kind),
            sorted(Decimal(amount) for amount in expected[kind]),
        )
    seen.must_be_none()


def test_build_up_and_price_are_as_worked(site: str) -> None:
    seen, result = Differences(), estimated(site)
    for key, amount in worked(site)["money"].items():
        seen.same(key, getattr(result.money, key), Decimal(amount))
    seen.must_be_none()


def test_price_lines_add_up_to_the_price_before_tax(site: str) -> None:
    total = sum((line.amount for line in estimated(site).price_lines), Decimal(0))
    assert total == Decimal(worked(site)["money"]["price_before_tax"])


def test_options_stay_outside_the_price(site: str) -> None:
    seen, expected = Differences(), worked(site).get("option", [])
    seen.same(
        "options (key, amount, tax)",
        [(row.key, row.amount, row.tax_amount) for row in estimated(site).options],
        [(row["key"], Decimal(row["amount"]), Decimal(row["tax_amount"])) for row in expected],
    )
    seen.must_be_none()
