"""Slide gates: where their posts stand, what the leaf needs, and what stops or warns.

Tail 50 % of the opening, two roller posts and a latch post: common practice, from slide-gate pages.
"""

from dataclasses import replace
from typing import Any

import pytest

from estimating.engine.catalog import FenceSystem, SlideGate
from estimating.engine.layout import Layout, lay_out
from estimating.engine.result import Finding
from estimating.engine.site import Conditions, Gate, GroundShot, LineEnd, Site
from tests.unit import layout_samples
from tests.unit.layout_samples import PANEL, line

SLIDE = SlideGate(
    post=layout_samples.post("slide_post", 4),
    tail_pct=50,
    overlap_in=6,
    tail_grip_in=12,
    largest_opening_in=288,
    largest_rise_in=2,
)
SLIDING: FenceSystem = replace(PANEL, gate=replace(PANEL.gate, slide=SLIDE))


def laid_out(*gates: Gate, lengths_in: tuple[float, ...] = (960.0,), **changes: Any) -> Layout:
    fence = line(*lengths_in, gates=gates, **changes)
    site = Site(name="Made up", lines=(fence,), conditions=Conditions())
    return lay_out(site, layout_samples.catalog(SLIDING))


def slide(station_in: float, opening_in: float = 144.0, **changes: Any) -> Gate:
    fields: dict[str, Any] = {"use": "drive", "kind": "slide"} | changes
    return Gate(id="S1", station_in=station_in, clear_opening_in=opening_in, **fields)


def found(layout: Layout, code: str) -> Finding:
    return next(f for f in layout.findings if f.code == code)


def codes(layout: Layout) -> set[str]:
    return {f.code for f in layout.findings}


def test_rollers_stand_behind_the_opening_on_the_side_it_is_stored() -> None:
    # Tail 72; rollers 72 - 12 = 60 apart. Opening 480 to 624, posts 4 wide: 478 and 626.
    at_start = laid_out(slide(480.0))
    at_end = laid_out(slide(480.0, hinge_side="end"))

    assert [p.station_in for p in at_start.lines[0].posts if p.size == "slide"] == [418, 478, 626]
    assert [p.station_in for p in at_end.lines[0].posts if p.size == "slide"] == [478, 626, 686]
    for layout, roller in ((at_start, 418), (at_end, 686)):
        (gate,) = layout.lines[0].gates
        stations = {p.number: p.station_in for p in layout.lines[0].posts}
        assert stations[gate.roller_post] == roller
        assert gate.leaf_in == 144 + 6 + 72


def test_bays_lie_between_the_roller_posts_and_add_up_to_the_fence() -> None:
    (fence,) = laid_out(slide(480.0)).lines

    assert [s.length_in for s in fence.sections] == [418, 60, 334]
    assert sum(bay.on_centre_in for bay in fence.bays) == 418 + 60 + 334
    # Half of a slide post at either end: 60 - 2 - 2.
    assert [bay.spacer_in for bay in fence.bays if bay.section == 2] == [56]
    # No rail goes into a steel post, and none of its faces is routed.
    assert [bay.panel_in for bay in fence.bays if bay.section == 2] == [56]
    assert {post.routing for post in fence.posts if post.size == "slide"} == {"none"}


def test_a_leaf_with_room_on_level_ground_has_only_its_caution() -> None:
    # Stored from 480 - 222 = 258 to 480.
    assert (
        codes(laid_out(slide(480.0)))
        & {
            "slide-gate-short-of-room",
            "slide-gate-not-level",
            "slide-gate-over-opening",
            "leaf-too-wide",
            "gate-on-slope",
        }
        == set()
    )
    caution = found(laid_out(slide(480.0)), "slide-gate-moved-by-hand")
    assert "qualified installer" in caution.message
    assert "UL 325" in caution.limit


@pytest.mark.parametrize(("station_in", "is_short"), [(222.0, False), (221.0, True)])
def test_the_whole_leaf_needs_room_along_the_leg(station_in: float, is_short: bool) -> None:
    layout = laid_out(slide(station_in))

    assert ("slide-gate-short-of-room" in codes(layout)) is is_short
    if is_short:
        assert "1 in past" in found(layout, "slide-gate-short-of-room").message


def test_a_corner_ends_the_room() -> None:
    # The second leg starts at 480: an opening at 600 leaves 120 of the 222 that the leaf needs.
    layout = laid_out(slide(600.0), lengths_in=(480.0, 480.0))

    assert "102 in past" in found(layout, "slide-gate-short-of-room").message


def test_without_room_for_its_rollers_it_is_left_out() -> None:
    # First roller at 48 - 2 = 46, the second 60 further back: before the line begins.
    layout = laid_out(slide(48.0))

    assert layout.lines[0].gates == ()
    stop = found(layout, "slide-gate-without-room")
    assert (stop.severity, stop.figure, stop.limit) == (
        "stop",
        "3-10 beside the opening",
        "5-0 between the roller posts",
    )


def test_a_wall_keeps_the_roller_post_off_by_its_half() -> None:
    wall = LineEnd(kind="wall", measured_at="wall_face")

    assert laid_out(slide(64.0), start=wall).lines[0].gates != ()
    assert laid_out(slide(63.0), start=wall).lines[0].gates == ()


def test_ground_is_read_along_the_whole_travel() -> None:
    # The leaf stands from 258 to 480 open, and to 624 + 6 closed. A hump of 3 in at 300 lies in it.
    hump = (
        GroundShot(station_in=0.0, elevation_in=0.0),
        GroundShot(station_in=290.0, elevation_in=0.0),
        GroundShot(station_in=300.0, elevation_in=3.0),
        GroundShot(station_in=310.0, elevation_in=0.0),
        GroundShot(station_in=960.0, elevation_in=0.0),
    )
    before_it = tuple(
        replace(shot, station_in=shot.station_in - 60) if 0 < shot.station_in < 900 else shot
        for shot in hump
    )

    assert found(laid_out(slide(480.0), ground=hump), "slide-gate-not-level").figure.startswith(
        "3 in"
    )
    assert "slide-gate-not-level" not in codes(laid_out(slide(480.0), ground=before_it))


def test_the_leaf_must_not_stand_in_the_way_of_another_gate() -> None:
    walk = Gate(id="G2", station_in=300.0, clear_opening_in=48.0)

    assert "gate G2" in found(laid_out(walk, slide(480.0)), "slide-gate-over-opening").message
    assert "slide-gate-over-opening" not in codes(laid_out(walk, slide(480.0, hinge_side="end")))


def test_its_roller_post_can_not_stand_in_another_opening() -> None:
    # The second roller post of S1 stands at 418.
    walk = Gate(id="G2", station_in=390.0, clear_opening_in=48.0)
    layout = laid_out(walk, slide(480.0))

    assert [gate.id for gate in layout.lines[0].gates] == ["G2"]
    assert found(layout, "roller-post-in-opening").severity == "stop"


def test_a_system_without_one_leaves_it_out() -> None:
    fence = line(960.0, gates=(slide(480.0),))
    layout = lay_out(Site(name="Made up", lines=(fence,)), layout_samples.catalog())

    assert layout.lines[0].gates == ()
    assert found(layout, "no-slide-gate").severity == "stop"


def test_wider_than_listed_is_said() -> None:
    layout = laid_out(slide(600.0, 300.0), lengths_in=(1200.0,))

    assert found(layout, "slide-gate-too-wide").limit == "24-0"
