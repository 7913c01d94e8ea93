"""Saver hints: what each saves worked by hand, and every one against two estimates made apart."""

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.engine.catalog import Catalog, Override, TypedLine
from estimating.engine.estimate import estimate
from estimating.engine.reading import read_site
from estimating.engine.result import EstimateResult
from estimating.engine.saver_changes import (
    DivideAnew,
    DropPin,
    LegCut,
    MoveGate,
    SharePost,
    Shorten,
    UseOffcuts,
    change_document,
)
from estimating.engine.savers import SaverHint, saver_hints
from tests.engine_cases import catalog
from tests.starter_cases import starter_catalog

WOOD = catalog()  # 4x4 posts in holes of 12 x 36 in, at most 96 in apart
STANDING = {"kind": "existing_post"}  # no end that could be cut back


def line(*lengths_in: float, **fields: Any) -> dict[str, Any]:
    """A line of wood whose legs turn right, between two posts unless `fields` says otherwise."""
    legs = [
        {"length_in": length_in, "turn_deg": 90.0 if number else 0.0}
        for number, length_in in enumerate(lengths_in)
    ]
    return {"id": "A", "system": "wood", "legs": legs} | fields


def document(*lines: dict[str, Any], **fields: Any) -> dict[str, Any]:
    return (
        {"format": "firm-footing-site", "version": 1, "name": "Made up"}
        | fields
        | {"lines": list(lines)}
    )


def hints(*lines: dict[str, Any], catalog: Catalog = WOOD) -> tuple[SaverHint, ...]:
    return saver_hints(document(*lines), catalog).hints


def changed_by(hint: SaverHint, site: dict[str, Any]) -> dict[str, Any]:
    assert not isinstance(hint.change, UseOffcuts)
    return change_document(site, read_site(site, leave_out=True), hint.change)


def test_an_inch_less_saves_a_post_and_a_bay() -> None:
    # 289 in at 96 are 4 bays and 5 posts; 288 in are 3 and 4.
    # Concrete: pi x 6^2 x 36 less 3.5^2 x 36 = 3630.5 in3 = 2.10099 ft3 a hole; with 10 % waste at
    # 0.6 ft3 a bag 5 holes take 19.26, so 20 bags, 4 holes 15.41, so 16: 4 bags at 6.00 = 24.00.
    # A post, a cap and three rails at 1.00 = 5.00; boards: 289 / 5.5 and 288 / 5.5 are both 53.
    # Hours by phase, to the hundredth: dig 0.90; set 0.25 + 4 x 0.07 = 0.53; hang 0.50; layout
    # 1.2408 and 1.24 are both 1.24; spoil pi x 6^2 x 36 / 1728 x 1.25 / 27 = 0.1091 yd3 a hole, so
    # 4.5454 and 4.4363 are 4.55 and 4.44: 0.11. Together 2.04 h at 62.00 = 126.48.
    (hint,) = hints(line(289.0))

    assert hint.change == Shorten(line_id="A", cuts=(LegCut(leg=0, at="end", by_in=1.0),))
    assert (hint.posts, hint.bays) == (1, 1)
    assert hint.cost == Decimal("155.48")
    assert hint.hours == pytest.approx(2.04, abs=0.005)


@pytest.mark.parametrize(("length_in", "saves"), [(294.0, True), (294.0625, False), (288.0, False)])
def test_an_end_is_cut_back_by_the_firm_s_limit_at_most(length_in: float, saves: bool) -> None:
    # 6 in are the limit: 294 - 288 = 6.
    assert bool(hints(line(length_in))) is saves
    assert not hints(line(length_in), catalog=catalog(end_move_limit_in=5.9375))


def test_a_fence_between_two_standing_posts_is_not_cut_back() -> None:
    assert hints(line(289.0, start=STANDING, end=STANDING)) == ()


def test_a_gate_moved_an_inch_saves_a_post() -> None:
    # Gate posts are 3.5 in wide. Opening from 290.75: its post's centre at 289, so 4 bays before
    # it. Behind it the fence runs from 290.75 + 48 + 1.75 = 340.5 to 620.5: 280 in, 3 bays, which
    # take 8 in more. One inch towards the start: 288 in before it are 3 bays, 281 in behind are 3.
    site = line(620.5, gates=[{"id": "G1", "station_in": 290.75, "clear_opening_in": 48.0}])
    site |= {"start": STANDING, "end": STANDING}
    (hint,) = hints(site)

    assert hint.change == MoveGate(line_id="A", gate_id="G1", by_in=-1.0)
    assert (hint.posts, hint.bays) == (1, 1)
    assert hints(site, catalog=catalog(gate_move_limit_in=0.9375)) == ()


def test_a_gate_is_not_moved_where_the_other_side_would_need_the_post() -> None:
    # Behind the gate stand 288 in: an inch more there are 4 bays.
    site = line(628.5, gates=[{"id": "G1", "station_in": 290.75, "clear_opening_in": 48.0}])
    assert hints(site | {"start": STANDING, "end": STANDING}) == ()


def test_a_yard_set_back_an_inch_saves_two_posts() -> None:
    # A U between two posts that stand already: both arms 289 in, so 4 bays each; at 288 in 3
    # each. The back keeps its length.
    u_shape = line(289.0, 480.0, 289.0, start=STANDING, end=STANDING)
    (hint,) = hints(u_shape)

    assert hint.change == Shorten(
        line_id="A",
        cuts=(LegCut(leg=0, at="end", by_in=1.0), LegCut(leg=2, at="start", by_in=1.0)),
    )
    assert (hint.posts, hint.bays) == (2, 2)


def test_a_yard_with_a_utility_s_mark_on_its_back_is_not_set_back() -> None:
    # Where a slanting mark crosses a fence that is moved nobody has marked.
    mark = {"station_in": 500.0, "facility_width_in": 2.0}
    u_shape = line(289.0, 480.0, 289.0, start=STANDING, end=STANDING, no_dig=[mark])
    assert hints(u_shape) == ()


def test_a_closed_yard_stays_closed() -> None:
    yard = line(289.0, 384.0, 289.0, 384.0, closed=True)
    (hint,) = hints(yard)
    changed = read_site(changed_by(hint, document(yard)))

    assert [leg.length_in for leg in changed.lines[0].legs] == [288.0, 384.0, 288.0, 384.0]
    assert hint.posts == 2


def test_full_bays_with_a_short_one_are_cut_less_often() -> None:
    # 370 in at 96: four bays of 92.5, all cut; or three of 96 and one of 82. Five posts each way.
    (hint,) = hints(line(370.0), catalog=cut_by_the_bay())

    assert hint.change == DivideAnew(line_id="A", division="full_and_short")
    assert (hint.posts, hint.bays, hint.cut_bays) == (0, 0, 3)
    # Three cuts at 0.30 h and 62.00 an hour; all else is counted by the bay, the post or the foot.
    assert hint.cost == Decimal("55.80")


def test_a_line_of_full_bays_or_of_short_ones_already_is_not_divided_anew() -> None:
    assert hints(line(384.0), catalog=cut_by_the_bay()) == ()
    assert hints(line(370.0, division="full_and_short"), catalog=cut_by_the_bay()) == ()


def cut_by_the_bay() -> Catalog:
    """The wood whose cut bays take 0.30 h more."""
    labor = {**WOOD.systems["wood"].labor, "hang_cut_bay": "hang.cut"}
    system = replace(WOOD.systems["wood"], labor=labor)
    rates = replace(WOOD.rates, hours={**WOOD.rates.hours, "hang.cut": 0.3})
    return replace(WOOD, systems={"wood": system}, rates=rates)


PANELS = ("steel_panel_4ft", "steel_panel_4ft_8ft")


def test_wider_bays_on_a_slope_are_no_saving_where_the_gap_under_them_grows() -> None:
    # 500 in falling 40 in: 6 equal bays step 6.7 in each, over the 2 in they stand clear, and
    # pass the limit of 8 in already; bays of 96 in would step 7.7 in.
    shots = [{"station_in": 0.0, "elevation_in": 0.0}, {"station_in": 500.0, "elevation_in": -40.0}]
    level = line(500.0, system="vinyl_privacy_6ft", start=STANDING, end=STANDING)

    assert [hint.change for hint in hints(level, catalog=starter_catalog())] == [
        DivideAnew(line_id="A", division="full_and_short")
    ]
    assert not hints(level | {"ground": shots}, catalog=starter_catalog())


def test_an_offcut_makes_another_bay() -> None:
    # Panels of 96 in between posts of 2 in, 98 apart; full bays with the rest in a short one. A
    # has 3 x 98 + 42: its last panel is 40 in; B has 2 x 98 + 57: 55 in. 55 + 1/8 of saw + 40 are
    # 95 1/8 and come out of one panel; so 6 are bought in place of 7, and 118.00 saved.
    a = line(336.0, system=PANELS[0])
    b = line(253.0, id="B", system=PANELS[0], start_y_in=500.0)
    found = saver_hints(document(a, b), starter_catalog()).hints
    (hint,) = [each for each in found if isinstance(each.change, UseOffcuts)]

    assert isinstance(hint.change, UseOffcuts)
    assert (hint.change.item, hint.change.units) == (PANELS[1], 6)
    assert hint.change.pairs == ((("B", 3), ("A", 4)),)
    assert hint.change.override.reason == "offcut of B bay 3 makes A bay 4"
    assert (hint.cost, hint.offcuts, hint.posts, hint.hours) == (Decimal("118.00"), 1, 0, 0.0)


def test_an_offcut_an_eighth_too_short_after_the_saw_makes_no_bay() -> None:
    # 55 7/8 + 1/8 of saw + 40 are 96 and just fit; 55 15/16 are a sixteenth too much.
    for last_in, fits in ((57.875, True), (57.9375, False)):
        a = line(336.0, system=PANELS[0])
        b = line(196.0 + last_in, id="B", system=PANELS[0], start_y_in=500.0)
        found = saver_hints(document(a, b), starter_catalog()).hints
        assert any(isinstance(each.change, UseOffcuts) for each in found) is fits


def test_panels_whose_number_is_set_by_hand_are_left_alone() -> None:
    a = line(336.0, system=PANELS[0])
    b = line(253.0, id="B", system=PANELS[0], start_y_in=500.0)
    by_hand = (Override(target=f"quantity:{PANELS[1]}", value=Decimal(7), reason="spare"),)
    found = saver_hints(document(a, b), starter_catalog(), overrides=by_hand).hints
    assert not any(isinstance(each.change, UseOffcuts) for each in found)


def test_a_bay_set_by_hand_that_makes_steps_is_left_to_the_ground() -> None:
    # The ground rises 5 in over each bay of 96, and a panel racks 6: no step. The second bay, set
    # level at its higher post, stands at 10 in; the first can't reach up there, 10 in and the 2 in
    # of its own gap over the ground are more than 8, so it racks to 5 in and the fence steps 5 in.
    slope = [{"station_in": 0.0, "elevation_in": 0.0}, {"station_in": 384.0, "elevation_in": 20.0}]
    racking = replace(WOOD.systems["wood"], max_rack_in=6.0)
    book = replace(WOOD, systems={"wood": racking})
    pinned = line(384.0, ground=slope, bay_pins=[{"station_in": 150.0, "follows": "stepped"}])
    (hint,) = hints(pinned, catalog=book)

    assert hint.change == DropPin(line_id="A", station_in=150.0)
    assert (hint.steps, hint.posts, hint.bays) == (1, 0, 0)
    assert hint.cost >= 0
    assert hints(line(384.0, ground=slope), catalog=book) == ()


def test_two_posts_beside_each_other_become_one() -> None:
    # A runs east and ends at (288, 0); B starts 4 in south of it and runs south for 284 in, so to
    # 288 south. From A's post B is 288 in long: 3 bays as before, and one post less.
    a = line(288.0)
    b = line(284.0, id="B", start_x_in=288.0, start_y_in=-4.0, bearing_deg=180.0)
    (hint,) = hints(a, b)

    assert hint.change == SharePost(
        line_id="B", at="start", with_line="A", with_at="end", longer_in=4.0
    )
    assert (hint.posts, hint.bays) == (1, 0)


def test_what_was_measured_stays_where_it_is_when_a_line_starts_later() -> None:
    # The zero moves 1 in: every reading is 1 in less, and the start stands 1 in east.
    site = line(
        300.0,
        gates=[{"id": "G1", "station_in": 100.0, "clear_opening_in": 48.0}],
        ground=[{"station_in": -4.0, "elevation_in": 3.0}, {"station_in": 0.0, "elevation_in": 2}],
        no_dig=[{"station_in": 200.0, "facility_width_in": 2.0}],
    )
    change = Shorten(line_id="A", cuts=(LegCut(leg=0, at="start", by_in=1.0),))
    changed = change_document(document(site), read_site(document(site)), change)["lines"][0]

    assert changed["legs"][0]["length_in"] == 299.0
    assert changed["gates"][0]["station_in"] == 99.0
    assert [shot["station_in"] for shot in changed["ground"]] == [-5.0, -1.0]
    assert changed["no_dig"][0]["station_in"] == 199.0
    assert (changed["start_x_in"], changed["start_y_in"]) == (1.0, 0.0)


def test_what_lies_behind_a_cut_moves_up_and_what_lies_before_it_stays() -> None:
    # Legs 100, 200, 100 cut by 2 in at the first corner and at the second: 98 + 200 + 98.
    site = line(100.0, 200.0, 100.0, gates=[])
    site["gates"] = [
        {"id": name, "station_in": station_in, "clear_opening_in": 10.0}
        for name, station_in in (("G1", 50.0), ("G2", 150.0), ("G3", 350.0))
    ]
    cuts = (LegCut(leg=0, at="end", by_in=2.0), LegCut(leg=2, at="start", by_in=2.0))
    change = Shorten(line_id="A", cuts=cuts)
    changed = change_document(document(site), read_site(document(site)), change)["lines"][0]

    assert [leg["length_in"] for leg in changed["legs"]] == [98.0, 200.0, 98.0]
    assert [gate["station_in"] for gate in changed["gates"]] == [50.0, 148.0, 346.0]


def test_a_line_given_by_points_is_cut_too() -> None:
    site = {
        "id": "A",
        "system": "wood",
        "points": [{"x_in": 10.0, "y_in": 5.0}, {"x_in": 299.0, "y_in": 5.0}],
    }
    (hint,) = hints(site)
    changed = read_site(changed_by(hint, document(site)))

    assert (changed.lines[0].start_x_in, changed.lines[0].start_y_in) == (10.0, 5.0)
    assert changed.lines[0].legs[0].length_in == 288.0
    assert changed.lines[0].bearing_deg == 90.0


def test_what_is_handed_in_stays_as_it_was() -> None:
    site = document(line(289.0))
    kept = document(line(289.0))
    saver_hints(site, WOOD)
    assert site == kept


def test_lines_only_removed_and_systems_in_one_bay_give_no_hint() -> None:
    assert hints(line(289.0, scope="removal")) == ()
    assert hints(line(90.0)) == ()


def test_a_price_set_by_hand_stays_and_the_cost_is_saved_all_the_same() -> None:
    by_hand = (Override(target="price", value=Decimal(5000), reason="agreed"),)
    (hint,) = saver_hints(document(line(289.0)), WOOD, overrides=by_hand).hints
    assert (hint.cost, hint.price) == (Decimal("155.48"), Decimal(0))


def test_a_line_that_can_not_be_read_is_left_as_it_is() -> None:
    broken = {"id": "X", "system": "wood", "legs": []}
    site = document(broken, line(289.0))
    (hint,) = saver_hints(site, WOOD).hints
    changed = changed_by(hint, site)

    assert hint.cost == Decimal("155.48")
    assert changed["lines"][0] == broken
    assert changed["lines"][1]["legs"][0]["length_in"] == 288.0


def test_too_many_changes_are_not_all_tried_and_the_count_is_said() -> None:
    many = [line(289.0, id=str(number), start_y_in=number * 500.0) for number in range(5)]
    found = saver_hints(document(*many), WOOD, most_tried=4)
    # Each line may end sooner or have full bays with a short one: ten changes.
    assert (found.tried, found.left_out) == (4, 6)


# --- Every hint against two whole estimates


def posts_bays(result: EstimateResult) -> tuple[int, int]:
    posts = [post for each in result.lines for post in each.posts]
    return len(posts), sum(len(each.bays) for each in result.lines)


def steps(result: EstimateResult) -> int:
    """Count apart from the program: by line and post, the heights at which its bays stand."""
    heights: dict[tuple[str, int], set[int]] = {}
    for bay in (bay for each in result.lines for bay in each.bays):
        for post, height_in in ((bay.from_post, bay.base_start_in), (bay.to_post, bay.base_end_in)):
            heights.setdefault((bay.line_id, post), set()).add(round(height_in * 16))
    return sum(len(each) > 1 for each in heights.values())


def broken(result: EstimateResult) -> Counter[tuple[str, str]]:
    return Counter((f.severity, f.code) for f in result.findings if f.severity != "note")


@st.composite
def yards(draw: st.DrawFn) -> dict[str, Any]:
    """One or two lines of a starter system, near whole bays so that a little often saves one."""
    system = draw(st.sampled_from(["vinyl_privacy_6ft", "chain_link_6ft", "steel_panel_4ft"]))
    bay_in = starter_catalog().systems[system].max_on_centre_in
    legs = draw(st.integers(1, 3))
    lengths = [
        draw(st.integers(3, 6)) * bay_in + draw(st.integers(-8, 48)) / 16 for _ in range(legs)
    ]
    fields: dict[str, Any] = {"system": system}
    if draw(st.booleans()):
        station_in = draw(st.integers(1, 2)) * bay_in + draw(st.integers(0, 96)) / 16
        fields["gates"] = [{"id": "G1", "station_in": station_in, "clear_opening_in": 48.0}]
    if draw(st.booleans()):
        fields["ground"] = [
            {"station_in": station, "elevation_in": float(draw(st.integers(-20, 20)))}
            for station in (0.0, 300.0, 900.0)
        ]
        fields["taped"] = draw(st.sampled_from(["level", "along_grade"]))
    lines = [line(*lengths, **fields)]
    if draw(st.booleans()):
        gap_in = draw(st.integers(0, 160)) / 16
        lines.append(
            line(
                draw(st.integers(200, 500)),
                id="B",
                system=system,
                start_x_in=0.0,
                start_y_in=gap_in,
                bearing_deg=0.0,
            )
        )
    return document(*lines)


@settings(max_examples=60, deadline=None)
@given(yards())
def test_every_hint_is_the_difference_of_two_whole_estimates(site: dict[str, Any]) -> None:
    typed = (TypedLine(key="t", description="Stump", unit_cost=Decimal(80)),)
    before = estimate(read_site(site), starter_catalog(), typed=typed)
    found = saver_hints(site, starter_catalog(), typed=typed)

    for hint in found.hints:
        is_bought = isinstance(hint.change, UseOffcuts)
        after = estimate(
            read_site(site if is_bought else changed_by(hint, site)),
            starter_catalog(),
            typed=typed,
            overrides=[hint.change.override] if isinstance(hint.change, UseOffcuts) else [],
        )
        assert hint.cost == before.money.direct_cost - after.money.direct_cost
        assert hint.price == before.money.price_before_tax - after.money.price_before_tax
        assert hint.hours == before.total_hours - after.total_hours
        (posts, bays), (posts_after, bays_after) = posts_bays(before), posts_bays(after)
        assert (hint.posts, hint.bays) == (posts - posts_after, bays - bays_after)
        assert hint.steps == steps(before) - steps(after)
        assert hint.cost > 0 or (hint.cost == 0 and hint.steps > 0)
        assert hint.price >= 0
        assert not broken(after) - broken(before)
    assert list(found.hints) == sorted(found.hints, key=lambda each: (-each.cost, each.key))
    assert len({each.key for each in found.hints}) == len(found.hints)
    assert saver_hints(site, starter_catalog(), typed=typed) == found
