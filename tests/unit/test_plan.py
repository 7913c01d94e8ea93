"""The site plan: to scale, with nothing overlapping, and safe to put into a page."""

import math
import re
from dataclasses import replace
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest

from estimating.drawing.frame import LARGEST_PRINTED
from estimating.drawing.labels import Label, Paper, Spot
from estimating.drawing.plan import plan_svg
from estimating.drawing.sheet import FixedMark, UtilityMark
from estimating.engine.result import GateLayout, LineLayout, Post, PostKind, Section

SVG = "{http://www.w3.org/2000/svg}"


def post(number: int, kind: PostKind, x_in: float, y_in: float = 0.0) -> Post:
    return Post(
        number=number,
        line_id="A",
        kind=kind,
        routing="line",
        product="post_5x5",
        width_in=5.0,
        length_in=108.0,
        station_in=x_in,
        x_in=x_in,
        y_in=y_in,
        elevation_in=0.0,
    )


def gate(*, swing: str = "left", hinge_side: str = "start", leaves: int = 1) -> GateLayout:
    return GateLayout(
        id="G1",
        line_id="A",
        from_post=2,
        to_post=3,
        station_in=192.5,
        clear_opening_in=48.0,
        on_centre_in=53.0,
        leaf_in=46.0,
        leaves=leaves,
        use="walk",
        hinge_side=hinge_side,
        swing=swing,
        latch="standard",
    )


def line(
    points: tuple[tuple[float, float], ...] = ((0.0, 0.0), (480.0, 0.0)),
    posts: tuple[Post, ...] = (),
    gates: tuple[GateLayout, ...] = (),
    *,
    name: str = "Back line",
    scope: str = "whole_fence",
    sections: tuple[Section, ...] = (),
) -> LineLayout:
    return LineLayout(
        line_id="A",
        name=name,
        system="vinyl",
        scope=scope,
        finished_face="left",
        length_in=sum(math.dist(a, b) for a, b in pairwise(points)),
        fence_ft=40.0,
        plan_points=points,
        sections=sections,
        posts=posts,
        bays=(),
        gates=gates,
    )


GATED = line(
    posts=(
        post(1, "end", 0.0),
        post(2, "gate", 190.0),
        post(3, "gate", 243.0),
        post(4, "line", 360.0),
        post(5, "end", 480.0),
    ),
    gates=(gate(),),
)


def parsed(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)  # noqa: S314 - our own drawing


def texts(svg: str) -> list[str]:
    return ["".join(each.itertext()) for each in parsed(svg).iter(f"{SVG}text")]


def test_plan_names_lengths_gates_posts_and_north() -> None:
    words = texts(plan_svg([GATED], title="Plan"))
    assert {"40-0", "G1 4-0", "1", "2", "3", "4", "5", "N", "end post", "gate post"} <= set(words)
    assert "corner post" not in words


def test_plan_is_to_scale() -> None:
    # A leg of 40 ft and one of 30 ft square to it: drawn as 4 to 3, as the bar's feet say too.
    corner = line(points=((0.0, 0.0), (480.0, 0.0), (480.0, 360.0)))
    root = parsed(plan_svg([corner], title="Plan"))
    first, second = [
        math.hypot(
            float(each.attrib["x2"]) - float(each.attrib["x1"]),
            float(each.attrib["y2"]) - float(each.attrib["y1"]),
        )
        for each in root.iter(f"{SVG}line")
        if each.attrib["stroke-width"] == "2.5"
    ][:2]
    assert math.isclose(first / second, 4 / 3, rel_tol=1e-3)
    bar = max(float(each.attrib["width"]) for each in root.iter(f"{SVG}rect") if "y" in each.attrib)
    (feet,) = [text for text in texts(plan_svg([corner], title="Plan")) if text.endswith(" ft")]
    assert math.isclose(bar / float(feet.split()[0]), first / 40, rel_tol=1e-3)


def test_north_is_up_and_east_is_right() -> None:
    # Bearings run clockwise from north: a line from south to north is drawn upwards.
    north = line(points=((0.0, 0.0), (0.0, 480.0)))
    (leg,) = [
        each
        for each in parsed(plan_svg([north], title="Plan")).iter(f"{SVG}line")
        if each.attrib["stroke-width"] == "2.5"
    ][:1]
    assert float(leg.attrib["y2"]) < float(leg.attrib["y1"])
    assert leg.attrib["x1"] == leg.attrib["x2"]


def swing_of(found: GateLayout) -> tuple[float, float]:
    """Return where the open leaf's tip stands from its hinge, x to the east, y to the south."""
    svg = plan_svg([line(posts=GATED.posts, gates=(found,))], title="Plan")
    leaf = next(
        each for each in parsed(svg).iter(f"{SVG}line") if each.attrib["stroke-width"] == "2"
    )
    return (
        float(leaf.attrib["x2"]) - float(leaf.attrib["x1"]),
        float(leaf.attrib["y2"]) - float(leaf.attrib["y1"]),
    )


def test_gate_swings_to_the_side_it_should() -> None:
    # Walking east, left is north, which is up on the sheet.
    assert swing_of(gate(swing="left"))[1] < 0
    assert swing_of(gate(swing="right"))[1] > 0


def test_double_gate_has_two_leaves_half_as_long() -> None:
    one = plan_svg([line(posts=GATED.posts, gates=(gate(),))], title="Plan")
    two = plan_svg([line(posts=GATED.posts, gates=(gate(leaves=2, hinge_side="both"),))], title="P")
    assert (one.count(" A "), two.count(" A ")) == (1, 2)
    reach = abs(swing_of(gate())[1])
    assert math.isclose(
        abs(swing_of(gate(leaves=2, hinge_side="both"))[1]), reach / 2, rel_tol=0.01
    )


def test_words_of_strangers_cannot_break_out_of_the_drawing() -> None:
    svg = plan_svg([line(name='"><script>')], title="<b>&")
    assert "<script>" not in svg
    assert parsed(svg).findtext(f"{SVG}title") == "<b>&"


def test_plan_needs_no_style_that_a_strict_policy_forbids() -> None:
    svg = plan_svg([GATED], title="Plan")
    assert "style" not in svg
    assert "<script" not in svg
    assert not re.search(r"\son\w+=", svg)


def test_nothing_to_draw_is_no_drawing() -> None:
    assert plan_svg([], title="Plan") == ""


def test_posts_only_and_removal_look_different_and_are_explained() -> None:
    words = texts(plan_svg([line(scope="posts_only")], title="Plan"))
    assert "posts only" in words
    assert "finished face" not in words
    assert "old fence to remove" in texts(plan_svg([line(scope="removal")], title="Plan"))


def test_words_never_overlap_on_a_crowded_plan() -> None:
    crowd = tuple(post(i + 1, "line", 24.0 * i) for i in range(60))
    points = ((0.0, 0.0), (1416.0, 0.0), (1416.0, 60.0), (1380.0, 60.0), (1380.0, 30.0))
    root = parsed(plan_svg([line(points=points, posts=crowd)], title="Plan"))
    height = float(root.attrib["viewBox"].split()[3])
    labels = [
        label_of(each)
        for each in root.iter(f"{SVG}text")
        # What stands in the foot, legend and scale bar, has places of its own.
        if float(each.attrib["y"]) < height - 62
    ]
    assert len(labels) > 10
    for one, other in combinations(labels, 2):
        assert not overlap(one, other), (one, other)


def label_of(text: ElementTree.Element) -> Label:
    turn = re.search(r"rotate\((-?[\d.]+)", text.attrib.get("transform", ""))
    size = float(text.attrib["font-size"])
    return Label(
        text="".join(text.itertext()),
        x=float(text.attrib["x"]),
        y=float(text.attrib["y"]) - size * 0.35,
        size=size,
        angle_deg=float(turn[1]) if turn else 0.0,
    )


def overlap(one: Label, other: Label) -> bool:
    return any(
        # A hair's breadth for coordinates written to a hundredth.
        math.hypot(a.x - b.x, a.y - b.y) < a.radius + b.radius - 0.05
        for a in one.spots()
        for b in other.spots()
    )


def test_taken_paper_is_not_given_twice() -> None:
    paper = Paper(width=100, height=100)
    label = Label(text="24-0", x=50, y=50, size=10)
    assert paper.place([label]) == label
    assert paper.place([label]) is None
    below = Label(text="24-0", x=50, y=70, size=10)
    assert paper.place([label, below]) == below


def test_words_stay_on_the_paper() -> None:
    paper = Paper(width=100, height=100)
    assert not paper.is_free(Spot(x=99, y=50, radius=5))
    assert paper.place([Label(text="long words", x=2, y=50, size=10)]) is None


def lines_of(svg: str, **attributes: str) -> list[tuple[float, float, float, float]]:
    """Return the ends of all lines that are drawn so."""
    return [
        (
            float(each.attrib["x1"]),
            float(each.attrib["y1"]),
            float(each.attrib["x2"]),
            float(each.attrib["y2"]),
        )
        for each in parsed(svg).iter(f"{SVG}line")
        if all(each.attrib.get(name) == value for name, value in attributes.items())
    ]


@pytest.mark.parametrize(("length_ft", "is_across"), [(40, True), (100, False)])
def test_a_length_keeps_clear_of_the_gates_that_open_there(length_ft: int, is_across: bool) -> None:
    # The finished face is north, so the length stands south, where the gate opens: below its
    # leaf, or across the fence where the leaf, on a large scale, would push it far away.
    points = ((0.0, 0.0), (12.0 * length_ft, 0.0))
    svg = plan_svg([line(points, GATED.posts, (gate(swing="right"),))], title="Plan")
    (leaf,) = lines_of(svg, **{"stroke-width": "2"})
    hinge_y, tip_y = leaf[1], leaf[3]
    level = [each for each in lines_of(svg, **{"stroke-width": "0.8"}) if each[1] == each[3]]
    assert level
    assert all(y < hinge_y if is_across else y > tip_y for _, y, _, _ in level)


def test_an_open_gate_stays_on_the_sheet() -> None:
    # A leaf of 16 ft on a line of 17 ft stands as far out as the line is long.
    wide = replace(gate(), station_in=6.0, clear_opening_in=192.0, from_post=1, to_post=2)
    ends = (post(1, "gate", 3.5), post(2, "gate", 200.5))
    svg = plan_svg([line(points=((0.0, 0.0), (204.0, 0.0)), posts=ends, gates=(wide,))], title="P")
    width, height = (float(each) for each in parsed(svg).attrib["viewBox"].split()[2:])
    for x1, y1, x2, y2 in lines_of(svg):
        assert 0 <= min(x1, x2) <= max(x1, x2) <= width
        assert 0 <= min(y1, y2) <= max(y1, y2) <= height


def test_every_short_leg_of_a_jog_has_its_length() -> None:
    jog = ((0.0, 0.0), (240.0, 0.0), (240.0, -24.0), (270.0, -24.0), (270.0, -264.0))
    words = texts(plan_svg([line(points=jog)], title="Plan"))
    assert {"20-0", "2-0", "2-6"} <= set(words)
    assert words.count("20-0") == 2


def test_a_marked_utility_crosses_the_fence_dashed_and_named() -> None:
    mark = UtilityMark(line_id="A", station_in=240.0, width_in=6.0, utility="gas")
    svg = plan_svg([line()], title="Plan", utilities=[mark])
    assert {"gas", "marked utility"} <= set(texts(svg))
    ((_, fence_y, _, _),) = lines_of(svg, **{"stroke-width": "2.5"})[:1]
    bands = [each for each in lines_of(svg, **{"stroke-dasharray": "6 3"}) if each[0] == each[2]]
    assert len(bands) == 2
    assert all(min(y1, y2) < fence_y < max(y1, y2) for _, y1, _, y2 in bands)
    other = UtilityMark(line_id="B", station_in=240.0, width_in=6.0, utility="water")
    assert "water" not in texts(plan_svg([line()], title="Plan", utilities=[other]))


def test_a_wall_at_which_a_line_starts_is_drawn() -> None:
    section = Section(
        number=1,
        line_id="A",
        start_station_in=0.0,
        length_in=480.0,
        bays=5,
        max_on_centre_in=96.0,
        from_kind="wall",
        to_kind="end",
    )
    svg = plan_svg([line(sections=(section,))], title="Plan")
    assert "wall" in texts(svg)
    # One at the line's west end, and the legend's sample.
    (wall, _) = lines_of(svg, **{"stroke-width": "7"})
    ((start_x, *_),) = lines_of(svg, **{"stroke-width": "2.5"})[:1]
    assert wall[0] == wall[2] < start_x
    assert "wall" not in texts(plan_svg([line()], title="Plan"))


def test_lines_are_named_where_there_are_several() -> None:
    old = replace(
        line(points=((0.0, 240.0), (480.0, 240.0)), name="Old fence", scope="removal"), line_id="B"
    )
    assert {"Back line", "Old fence"} <= set(texts(plan_svg([line(), old], title="Plan")))
    assert "Back line" not in texts(plan_svg([line()], title="Plan"))


@pytest.mark.parametrize("north_ft", [0.0, 40.0, 500.0])
def test_a_printed_plan_takes_two_fifths_of_a_page_at_most(north_ft: float) -> None:
    # A letter page of 8.5 by 11 in with margins of 19 mm left and right: 177.9 mm for 720 units.
    corner = line(points=((0.0, 0.0), (480.0, 0.0), (480.0, -12 * north_ft - 1)))
    svg = plan_svg([corner], title="Plan", largest_drawing=LARGEST_PRINTED)
    height = float(parsed(svg).attrib["viewBox"].split()[3])
    assert height * 177.9 / 720 <= 0.4 * 279.4


def test_what_stands_in_the_line_is_drawn_named_and_ringed_where_no_hole_goes() -> None:
    oak = FixedMark(line_id="A", station_in=240.0, width_in=24.0, keep_clear_in=36.0, words="oak")
    svg = plan_svg([line()], title="Plan", fixed=[oak])
    assert {"oak", "standing already"} <= set(texts(svg))
    rings = [
        (float(each.get("r", 0)), each.get("stroke-dasharray"))
        for each in parsed(svg).iter(f"{SVG}circle")
        if each.get("stroke-dasharray")
    ]
    solid = [
        float(each.get("r", 0))
        for each in parsed(svg).iter(f"{SVG}circle")
        if not each.get("stroke-dasharray")
    ]
    # 24 / 2 + 36 = 48 in against 12 in: four times the trunk's own ring. The legend's sample has
    # a dashed ring too.
    assert any(abs(ring - 4 * own) < 0.1 for ring, _ in rings for own in solid)
    elsewhere = replace(oak, line_id="B")
    assert "oak" not in texts(plan_svg([line()], title="Plan", fixed=[elsewhere]))


def test_standing_post_that_is_used_is_crossed_and_has_no_ring() -> None:
    used = FixedMark(
        line_id="A", station_in=240.0, width_in=6.0, keep_clear_in=12.0, words="old", is_used=True
    )
    with_it = parsed(plan_svg([line()], title="Plan", fixed=[used], is_bare=True))
    without = parsed(plan_svg([line()], title="Plan", is_bare=True))

    def count(svg: ElementTree.Element, tag: str) -> int:
        return sum(1 for _ in svg.iter(f"{SVG}{tag}"))

    assert count(with_it, "circle") == count(without, "circle") + 1
    assert count(with_it, "line") == count(without, "line") + 2
