"""The site plan: to scale, with nothing overlapping, and safe to put into a page."""

import math
import re
from itertools import combinations, pairwise
from xml.etree import ElementTree

from estimating.drawing.labels import Label, Paper, Spot
from estimating.drawing.plan import plan_svg
from estimating.engine.result import GateLayout, LineLayout, Post, PostKind

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
        sections=(),
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
