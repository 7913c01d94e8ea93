"""What the place and the crew do to the firm's rates, and how each hour names its row."""

from dataclasses import replace
from typing import Any

import pytest

from estimating.engine.catalog import Catalog
from estimating.engine.estimate import estimate_lines
from estimating.engine.footings import dig
from estimating.engine.labor import Labor, work_out
from estimating.engine.result import LineLayout, Work
from estimating.engine.setting import posts_at_steps
from estimating.engine.site import Conditions
from tests.engine_cases import RATES, catalog, gate, post, straight_line

LIMITS = {
    "slope.steep_pct": 10.0,
    "slope.hand_pct": 25.0,
    "access.skid_steer_in": 72.0,
    "access.mini_loader_in": 40.0,
    "crew.large_from": 4.0,
    "crew.large_pays_ft": 300.0,
}
HOURS = {
    "slope.steep_factor": 1.2,
    "slope.hand_factor": 1.3,
    "crew.large_factor": 1.1,
    "dig.normal.mini_loader": 0.4,
    "dig.rock_hole": 2.5,
    "travel.paid_hour": 1.0,
}
SINCE = {"hours.dig.normal.hand": "2026-03-01", "hours.slope.steep_factor": "2026-04-01"}
MACHINE = Conditions(dig_method="skid_steer")


def book(**rules: Any) -> Catalog:
    rates = replace(RATES, hours={**RATES.hours, **HOURS}, limits=LIMITS, since=SINCE)
    return catalog(rates=rates, **rules)


def labor(
    line: LineLayout, conditions: Conditions = MACHINE, catalog_of: Catalog | None = None
) -> Labor:
    used = catalog_of or book()
    return work_out([line], used, conditions, dig([line], used, conditions), hand_set={})


def works(found: Labor, rate: str) -> list[Work]:
    return [work for work in found.works if work.rate == rate]


def on_a_hill(*heights_in: float) -> LineLayout:
    """Bays of 96 in between posts at these heights."""
    line = straight_line(bays=len(heights_in) - 1)
    posts = tuple(
        replace(each, x_in=index * 96.0, elevation_in=height_in)
        for index, (each, height_in) in enumerate(zip(line.posts, heights_in, strict=True))
    )
    return replace(line, posts=posts)


def test_a_post_counts_by_the_steeper_of_its_two_bays() -> None:
    # Rises of 0, 12 and 28.8 in over 96: 0, 12.5 and 30 %. Posts 1 level; 2 at 12.5; 3, 4 at 30.
    found = labor(on_a_hill(0.0, 0.0, 12.0, 40.8))

    by_machine = works(found, "dig.normal.skid_steer")
    assert [(work.posts, [f.value for f in work.factors]) for work in by_machine] == [
        ((1,), []),
        ((2,), [1.2]),
    ]
    (by_hand,) = works(found, "dig.normal.hand")
    assert (by_hand.posts, by_hand.note) == ((3, 4), "too steep for machines")
    # 2 holes x 1.6 x 1.3.
    assert by_hand.labor_hours == pytest.approx(4.16)
    hung = {work.bays: work.labor_hours for work in works(found, "hang.bay")}
    assert hung == pytest.approx({(1,): 0.5, (2,): 0.6, (3,): 0.65})


def test_the_row_and_its_day_stand_beside_every_hour() -> None:
    found = labor(on_a_hill(0.0, 12.0), Conditions(dig_method="hand"))

    (dug,) = works(found, "dig.normal.hand")
    assert (dug.hours_each, dug.valid_from) == (1.6, "2026-03-01")
    (factor,) = dug.factors
    assert (factor.row, factor.valid_from) == ("hours.slope.steep_factor", "2026-04-01")
    step = next(
        step for hours in found.hours for step in hours.trace if step.rule == "dig.normal.hand"
    )
    # 2 x 1.6 x 1.2.
    assert step.inputs == "line A: 2 x 1.6 h x 1.2 for steep ground = 3.84 h"
    assert step.source == "firm's production rates, since 2026-03-01"


def test_without_limits_of_the_firm_no_hill_changes_a_rate() -> None:
    bare = catalog(rates=RATES)

    assert all(work.factors == () for work in labor(on_a_hill(0.0, 90.0), MACHINE, bare).works)


def test_a_wall_s_bay_takes_no_slope_of_its_own() -> None:
    line = on_a_hill(0.0, 40.0)
    at_wall = replace(line, bays=(replace(line.bays[0], from_post=0),), posts=line.posts[1:])

    assert all(work.factors == () for work in labor(at_wall).works)


def test_a_factor_the_firm_lacks_changes_nothing_and_is_found() -> None:
    hours = {key: value for key, value in HOURS.items() if not key.startswith("slope.")}
    rates = replace(RATES, hours={**RATES.hours, **hours}, limits=LIMITS)
    found = labor(on_a_hill(0.0, 12.0), MACHINE, catalog(rates=rates))

    assert works(found, "dig.normal.skid_steer")[0].labor_hours == pytest.approx(0.7)
    assert [(f.severity, f.place) for f in found.findings] == [
        ("stop", "rates.hours.slope.steep_factor")
    ]


def test_a_machine_too_wide_stays_out_and_the_quickest_carried_tool_digs() -> None:
    narrow = Conditions(dig_method="skid_steer", access_width_in=36.0)
    result = estimate_lines([straight_line(bays=4)], book(), narrow)

    assert result.hours[1].labor_hours == pytest.approx(5 * 0.9)
    found = next(f for f in result.findings if f.code == "machine-too-wide")
    assert (found.severity, found.figure, found.limit) == (
        "warn",
        "36 in",
        "72 in for the skid steer",
    )
    assert "two man auger" in found.message
    # No machine of the firm's passes 36 in.
    assert found.action.startswith("Ask whether a panel or a gate can come out")


def test_the_finding_names_a_narrower_machine_that_passes() -> None:
    narrow = Conditions(dig_method="skid_steer", access_width_in=48.0)
    found = estimate_lines([straight_line(bays=4)], book(), narrow).findings

    actions = [f.action for f in found if f.code == "machine-too-wide"]
    assert actions == ["Choose the mini loader, which passes, or open a wider way in."]


@pytest.mark.parametrize("access_in", [None, 72.0, 100.0])
def test_a_machine_that_passes_digs(access_in: float | None) -> None:
    wide = Conditions(dig_method="skid_steer", access_width_in=access_in)
    result = estimate_lines([straight_line(bays=4)], book(), wide)

    assert result.hours[1].labor_hours == pytest.approx(5 * 0.35)
    assert "machine-too-wide" not in {f.code for f in result.findings}


def test_the_machine_that_stays_outside_is_not_paid_for() -> None:
    equipped = book(equipment={"skid_steer": "loader"})
    narrow = Conditions(dig_method="skid_steer", access_width_in=36.0)

    assert estimate_lines([straight_line(bays=4)], equipped, MACHINE).equipment_days == 0.5
    assert estimate_lines([straight_line(bays=4)], equipped, narrow).equipment_days == 0.0


def test_where_nothing_carried_has_a_rate_hands_dig() -> None:
    stony = Conditions(soil_class="stones", dig_method="skid_steer", access_width_in=30.0)
    result = estimate_lines([straight_line(bays=1)], book(), stony)

    assert "rates.hours.dig.stones.hand" in {f.place for f in result.findings}


def test_rock_holes_are_taken_off_the_largest_group_first() -> None:
    line = straight_line(bays=9)
    by_hand = tuple(
        replace(each, hand_dig=each.number <= 3) for each in line.posts
    )  # 3 by hand, 7 by machine
    found = labor(replace(line, posts=by_hand), replace(MACHINE, rock_holes=8))

    assert [work.count for work in works(found, "dig.normal.hand")] == [2]
    assert works(found, "dig.normal.skid_steer") == []
    (rock,) = works(found, "dig.rock_hole")
    assert rock.count == 8
    assert rock.labor_hours == pytest.approx(20.0)
    assert works(found, "dig.normal.hand")[0].note == (
        "beside a utility's mark, 1 of these holes are counted as rock"
    )


def test_more_rock_than_holes_is_every_hole() -> None:
    found = labor(straight_line(bays=2), replace(MACHINE, rock_holes=50))

    assert [work.count for work in found.works if work.phase == "dig"] == [3]


def test_a_large_crew_waits_and_says_so() -> None:
    four = book(crew_size=4)
    short = labor(straight_line(bays=4), MACHINE, four)

    assert works(short, "dig.normal.skid_steer")[0].labor_hours == pytest.approx(5 * 0.35 * 1.1)
    assert [f.code for f in short.findings] == ["crew-larger-than-the-job"]
    # 38 bays of 8 ft are 304 ft.
    long = labor(straight_line(bays=38), MACHINE, four)
    assert works(long, "dig.normal.skid_steer")[0].labor_hours == pytest.approx(39 * 0.35)
    assert long.findings == ()


def test_gates_on_a_slope_take_longer() -> None:
    line = on_a_hill(0.0, 12.0)
    hung = replace(line, gates=(gate(from_post=1, to_post=2),), bays=())

    (work,) = works(labor(hung), "gate.walk")
    assert work.labor_hours == pytest.approx(1.25 * 1.2)
    assert work.posts == (1, 2)


def on_heights(*bases_in: tuple[float, float]) -> LineLayout:
    """Bays that stand on these heights, at their start and at their end."""
    line = straight_line(bays=len(bases_in))
    bays = tuple(
        replace(
            bay,
            follows="racked" if start != end else "stepped",
            base_start_in=start,
            base_end_in=end,
        )
        for bay, (start, end) in zip(line.bays, bases_in, strict=True)
    )
    return replace(line, bays=bays)


def test_a_post_at_which_two_bays_step_is_marked_for_it() -> None:
    # Two level bays, a step of 5 in at post 3, then one that follows the ground on from there.
    line = on_heights((0.0, 0.0), (0.0, 0.0), (-5.0, -5.0), (-5.0, -9.0))
    rates = replace(RATES, hours={**RATES.hours, "set.step": 0.15, "set.bracing": 0.05})
    system = replace(
        catalog().systems["wood"],
        labor={"set_line": "set.line", "set_bracing": "set.bracing", "set_step": "set.step"},
    )
    found = labor(line, MACHINE, catalog(system, rates=rates))

    (step,) = works(found, "set.step")
    assert step.posts == (3,)
    assert step.labor_hours == pytest.approx(0.15)
    (braced,) = works(found, "set.bracing")
    assert braced.posts == (1, 2, 3, 4, 5)
    assert braced.labor_hours == pytest.approx(5 * 0.05)


def test_ground_nobody_shot_has_no_steps() -> None:
    assert posts_at_steps(straight_line(bays=3)) == []


def test_two_posts_at_one_place_have_no_slope() -> None:
    line = straight_line(bays=1)
    same = (post(1, "end"), post(2, "end", elevation_in=30.0))

    assert all(work.factors == () for work in labor(replace(line, posts=same)).works)


def test_each_line_s_share_of_foot_and_piece_work_is_whole() -> None:
    # 3 bays of which the second is steep: a third of the feet at the factor.
    system = replace(catalog().systems["wood"], labor={"hang_foot": "layout.foot"})
    rates = replace(RATES, hours={**RATES.hours, **HOURS}, limits=LIMITS)
    used = catalog(system, rates=rates)
    found = labor(on_a_hill(0.0, 0.0, 12.0, 12.0), MACHINE, used)

    hung = [work for work in found.works if work.phase == "hang"]
    assert [work.bays for work in hung] == [(1, 3), (2,)]
    assert [work.count for work in hung] == pytest.approx([16.0, 8.0])
