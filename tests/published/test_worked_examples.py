"""Open worked jobs of the trade's handbook, section 11 and section 5, worked by hand there.

Common practice, no source, for every rule they use but chain link's holes and spacing (ASTM F567).
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from estimating.engine.catalog import Catalog, TypedLine
from estimating.engine.estimate import estimate_lines
from estimating.engine.result import EstimateResult
from estimating.engine.site import Conditions
from tests.engine_cases import CONCRETE, WOOD, catalog, price
from tests.starter_cases import estimate_line, fence_line, starter_catalog

pytestmark = pytest.mark.source("N", "common practice, no source: the trade's worked jobs")


def pieces(result: EstimateResult) -> dict[str, int]:
    return {each.item: each.purchase_units for each in result.quantities}


class TestWoodSideBySide:
    """Example A: 50 ft 0 in between the centres of two end posts, 12 x 36 in holes."""

    @pytest.fixture
    def result(self) -> EstimateResult:
        book = catalog(
            WOOD,
            prices=[
                CONCRETE,
                price("post_4x4"),
                price("cap"),
                price("rail"),
                price("board", waste_pct=5.0),
            ],
        )
        return estimate_line(fence_line("wood", [50.0]), book)

    def test_seven_bays_of_85_and_eleven_sixteenths(self, result: EstimateResult) -> None:
        # 600 / 96 = 6.25 -> 7; 600 in are 9,600 sixteenths, 1,371.43 a bay: four of 1,371
        # (85 11/16) and three of 1,372 (85 3/4).
        bays = result.lines[0].bays

        assert sorted(bay.on_centre_in for bay in bays) == [85.6875] * 4 + [85.75] * 3
        assert sum(bay.on_centre_in for bay in bays) == 600.0
        assert sorted(bay.spacer_in for bay in bays) == [82.1875] * 4 + [82.25] * 3

    def test_posts_rails_and_boards(self, result: EstimateResult) -> None:
        # 8 posts; 7 x 3 rails; 600 / 5.5 = 109.1 -> 110, + 5 % = 115.5 -> 116.
        found = pieces(result)

        assert (found["post_4x4"], found["rail"], found["board"]) == (8, 21, 116)

    def test_concrete(self, result: EstimateResult) -> None:
        # 8 x 2.101 = 16.81, + 10 % = 18.49 ft3, / 0.6 = 30.8 -> 31.
        assert result.concrete.net_ft3 == pytest.approx(16.81, abs=0.005)
        assert result.concrete.with_waste_ft3 == pytest.approx(18.49, abs=0.005)
        assert result.concrete.bags == 31


def test_example_a_with_the_starter_s_own_wood_fence() -> None:
    """8 posts; 7 x 3 rails; 110 boards, + 5 % = 116; 18.49 ft3 of concrete, 31 bags."""
    result = estimate_line(fence_line("wood_privacy_side_6ft", [50.0]))
    found = pieces(result)

    assert sorted(bay.on_centre_in for bay in result.lines[0].bays) == [85.6875] * 4 + [85.75] * 3
    assert found["wood_post_4x4_9ft"] == 8
    assert found["wood_rail_2x4_8ft"] == 21
    assert {q.item: q.net for q in result.quantities}["wood_board_6ft"] == 110
    assert found["wood_board_6ft"] == 116
    assert result.concrete.with_waste_ft3 == pytest.approx(18.49, abs=0.005)
    assert found["concrete_80lb"] == 31


class TestChainLinkCorner:
    """Example B: 4 ft chain link, an L of 36 ft and 25 ft without a gate, on level ground."""

    @pytest.fixture
    def book(self) -> Catalog:
        """The starter set, with the example's holes of 8 and 10 in and single pieces for packs."""
        starter = starter_catalog()
        system = starter.systems["chain_link_4ft"]
        posts = {
            role: replace(post, hole_diameter_in=8.0 if role == "line" else 10.0)
            for role, post in system.posts.items()
        }
        loose = {"cl_tie": replace(starter.prices["cl_tie"], pack=1.0)}
        return replace(
            starter,
            systems={system.key: replace(system, posts=posts)},
            prices={**starter.prices, **loose},
        )

    @pytest.fixture
    def result(self, book: Catalog) -> EstimateResult:
        return estimate_line(fence_line("chain_link_4ft", [36.0, 25.0]), book)

    def test_bays_are_equal_in_each_section(self, result: EstimateResult) -> None:
        # 36 ft: 4 bays of 9.000 ft. 25 ft: 3 of 8.333 ft, 4,800 sixteenths / 3 = 1,600 each.
        assert [bay.on_centre_in for bay in result.lines[0].bays] == [108.0] * 4 + [100.0] * 3

    def test_eight_posts_of_which_three_are_terminals(self, result: EstimateResult) -> None:
        kinds = [post.kind for post in result.lines[0].posts]

        assert kinds == ["end", "line", "line", "line", "corner", "line", "line", "end"]

    @pytest.mark.parametrize(
        ("item", "count"),
        [
            ("cl_line_post_4ft", 5),
            ("cl_terminal_post_4ft", 3),
            ("cl_tension_bar_4ft", 4),
            # Height in feet less one, on each bar.
            ("cl_tension_band", 12),
            ("cl_rail_end", 4),
            # One for each rail end, and one where the tension wire is tied.
            ("cl_brace_band", 8),
            ("cl_terminal_cap", 3),
            ("cl_loop_top", 5),
            # 36 / 20.5 = 1.8 -> 2 and 25 / 20.5 = 1.2 -> 2: by section, not 61 / 20.5 = 3.
            ("cl_top_rail_21ft", 4),
            # 61 ft in rolls of 50 ft.
            ("cl_fabric_4ft", 2),
            # 5 x 4 on the line posts, 36 / 2 = 18 and 25 / 2 = 12.5 -> 13 on the rail.
            ("cl_tie", 51),
            ("concrete_80lb", 12),
        ],
    )
    def test_every_piece(self, result: EstimateResult, item: str, count: int) -> None:
        assert pieces(result)[item] == count

    def test_concrete(self, result: EstimateResult) -> None:
        # 5 x 0.6693 + 3 x 1.0293 = 6.43 ft3, + 10 % = 7.08.
        assert {round(hole.concrete_ft3, 4) for hole in result.holes} == {0.6693, 1.0293}
        assert {hole.depth_in for hole in result.holes} == {24.0}
        assert result.concrete.net_ft3 == pytest.approx(6.43, abs=0.005)
        assert result.concrete.with_waste_ft3 == pytest.approx(7.08, abs=0.005)


class TestSteppedRunOnTheLevel:
    """Example C is 48 ft of vinyl down a slope; its bays, measured level, need no slope."""

    def test_six_bays_of_96_and_seven_posts(self) -> None:
        line = estimate_line(fence_line("vinyl_privacy_6ft", [48.0])).lines[0]

        assert [bay.on_centre_in for bay in line.bays] == [96.0] * 6
        assert len(line.posts) == 7


def test_the_handbook_s_price_build_up() -> None:
    """Section 5: direct cost 5,050.40 and 24.2 hours at $900 a crew-day, 12 % of the price net."""
    # 24.2 h x 62 = 1,500.40 of labour; 3,200 of material and 350 of fixed cost typed in.
    # 24.2 / 24 = 1.0083 crew-days, 907.50; break-even 5,957.90; / 0.88 = 6,770.34.
    typed = [
        TypedLine(key="m", description="Material", unit_cost=Decimal(3200), labor_hours=24.2),
        TypedLine(key="f", description="Travel, ticket, permit trip", unit_cost=Decimal(350)),
    ]
    money = estimate_lines([], catalog(), Conditions(), typed=typed).money

    assert money.direct_cost == Decimal("5050.40")
    assert round(money.crew_days, 4) == Decimal("1.0083")
    assert money.overhead == Decimal("907.50")
    assert money.break_even == Decimal("5957.90")
    assert money.price_before_tax == Decimal("6770.34")
    # Gross: (6,770.34 - 5,050.40) / 6,770.34 = 25.4 %; markup on direct cost 34.1 %.
    gross = money.price_before_tax - money.direct_cost
    assert round(gross / money.price_before_tax * 100, 1) == Decimal("25.4")
    assert round(gross / money.direct_cost * 100, 1) == Decimal("34.1")
    # For a crew's day (6,770.34 - 5,050.40) / 1.0083 = $1,706.
    assert round(gross / money.crew_days) == 1706
    # Over 96 ft: $70.52 a foot.
    assert round(money.price_before_tax / 96, 2) == Decimal("70.52")


def test_the_handbook_s_posts_only_saves_a_tenth_of_the_cost() -> None:
    """Section 4: posts $494, concrete $300, the rest of the material $2,406, fixed cost $350."""

    def direct_cost(material: int, hours: float) -> Decimal:
        typed = [
            TypedLine(
                key="m", description="Material", unit_cost=Decimal(material), labor_hours=hours
            ),
            TypedLine(key="f", description="Travel, ticket, permit trip", unit_cost=Decimal(350)),
        ]
        return estimate_lines([], catalog(), Conditions(), typed=typed).money.direct_cost

    # 494 + 300 + 15.7 x 62 = 973.40 + 350 = 2,117.40, printed $2,117. The customer buys the 2,406
    # himself, so that he saves 8.5 x 62 = 527.00 of 5,050.40.
    whole, posts_only = direct_cost(494 + 300 + 2406, 24.2), direct_cost(494 + 300, 15.7)

    assert posts_only == Decimal("2117.40")
    assert whole - posts_only - 2406 == Decimal("527.00")
    assert round((whole - posts_only - 2406) / whole * 100) == 10
