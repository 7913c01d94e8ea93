"""The elevation of a line: what it shows, to its two scales, and in words."""

import itertools
import re
from xml.etree import ElementTree

import pytest

from estimating.drawing.elevation import Elevation, elevations
from estimating.drawing.marks import SOFT, STOP
from estimating.drawing.profile import HIGHEST, SIDE, WIDTH, View
from estimating.engine.result import LineLayout
from estimating.engine.site import BayPin, FenceLine, GroundShot
from tests.unit.layout_samples import gate, laid_out, line

SVG = "{http://www.w3.org/2000/svg}"
VIEWS = {
    "panel": View(height_in=72.0, gap_in=2.0, family="panel"),
    "fabric": View(height_in=48.0, gap_in=2.0, family="fabric"),
}
FALL = (
    GroundShot(station_in=0, elevation_in=0),
    GroundShot(station_in=576, elevation_in=-30),
)
PINS = tuple(BayPin(station_in=48 + 96 * bay, follows="stepped") for bay in range(6))
STEPPED = line(576, ground=FALL, bay_pins=PINS)


def drawn(*fences: FenceLine, units: str = "us") -> list[Elevation]:
    lines: tuple[LineLayout, ...] = laid_out(*fences).lines
    depths = {post.number: 36.0 for each in lines for post in each.posts}
    return elevations(lines, VIEWS, depths_in=depths, units=units)


def words(drawing: Elevation) -> list[str]:
    return [node.text or "" for node in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text")]  # noqa: S314 - our own


def panels(drawing: Elevation) -> list[list[tuple[float, float]]]:
    """Return the corners of each bay: lower start, upper start, upper end, lower end."""
    return [
        [(float(x), float(y)) for x, y in re.findall(r"([-.\d]+),([-.\d]+)", node.attrib["points"])]
        for node in ElementTree.fromstring(drawing.svg).iter(f"{SVG}polygon")  # noqa: S314 - our own
    ]


def test_each_bay_is_drawn_and_the_steps_and_gaps_are_written() -> None:
    (drawing,) = drawn(STEPPED)

    assert len(panels(drawing)) == 6
    said = words(drawing)
    assert said.count("step 5 in") == 5
    # 2 in under the uphill end, and the 5 in of the step.
    assert said.count("gap 7 in") == 6
    assert {"1", "7", "0-0", "48-0"} <= set(said)


def test_lengths_and_heights_are_to_scale() -> None:
    # 576 in over 720 - 2 x 34 = 652 units: 1.1319 to the inch. From the highest top, 72, to the
    # lowest foot, -30 - 36 = -66, is 138 in: 138 x 1.1319 = 156 of 230 units, and twice is too
    # many: one scale. A bay is 96 in, so 108.67; a step of 5 in is 5.66.
    (drawing,) = drawn(STEPPED)
    bays = panels(drawing)

    factor = (WIDTH - 2 * SIDE) / 576
    assert 138 * factor < HIGHEST < 2 * 138 * factor
    assert [bay[3][0] - bay[0][0] for bay in bays] == pytest.approx([96 * factor] * 6, abs=0.02)
    drops = [after[1][1] - before[1][1] for before, after in itertools.pairwise(bays)]
    assert drops == pytest.approx([5 * factor] * 5, abs=0.02)
    assert bays[0][0][1] - bays[0][1][1] == pytest.approx(70 * factor, abs=0.02)


def test_it_says_in_words_what_it_shows() -> None:
    (drawing,) = drawn(STEPPED)

    root = ElementTree.fromstring(drawing.svg)  # noqa: S314 - our own
    title, about = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert about is not None
    assert title.text == "Elevation of Line"
    assert root.attrib["aria-labelledby"] == f"{title.attrib['id']} {about.attrib['id']}"
    assert about.text == (
        "The ground falls 30 in over 48-0. 6 bays: 6 stepped. Steps: 5 in at 8-0, 5 in at 16-0, "
        "5 in at 24-0, 5 in at 32-0, 5 in at 40-0. Largest gap under the fence 7 in."
    )


def test_a_racked_fence_has_no_steps() -> None:
    (drawing,) = drawn(line(576, ground=FALL))

    assert not [word for word in words(drawing) if word.startswith(("step", "gap"))]
    rises = [bay[3][1] - bay[0][1] for bay in panels(drawing)]
    assert all(rise > 0 for rise in rises)  # y runs down the sheet


def test_lines_without_shots_or_without_fence_are_not_drawn() -> None:
    removed = line(576, id="B", scope="removal", ground=FALL)
    assert drawn(line(576), removed) == []


def test_a_long_line_is_drawn_in_stretches_from_post_to_post() -> None:
    # 3,000 in is over two times 1,440: three stretches, together all 32 bays.
    shots = (GroundShot(station_in=0, elevation_in=0), GroundShot(station_in=3000, elevation_in=60))
    parts = drawn(line(3000, ground=shots))

    assert len(parts) == 3
    assert sum(len(panels(part)) for part in parts) == 32
    ends = [re.search(r"Line, (.*) to (.*)", part.name) for part in parts]
    assert [end[1] for end in ends[1:] if end] == [end[2] for end in ends[:-1] if end]


def test_gates_and_metric_words() -> None:
    fence = line(576, ground=FALL, gates=(gate(200),))
    (drawing,) = drawn(fence, units="metric")

    assert "Gate G1" in words(drawing)
    assert not [word for word in words(drawing) if word.endswith(" in")]


def test_names_are_escaped() -> None:
    (drawing,) = drawn(line(576, ground=FALL, name="<b>&"))
    assert "<b>" not in drawing.svg


@pytest.mark.parametrize(("limit_in", "is_red"), [(8.0, False), (7.0, False), (6.0, True)])
def test_gap_is_red_only_over_its_limit(limit_in: float, is_red: bool) -> None:
    # Gaps of 7 in, as above.
    (fence,) = laid_out(STEPPED).lines
    view = View(height_in=72.0, gap_in=2.0, family="panel", largest_gap_in=limit_in)
    depths = dict.fromkeys([post.number for post in fence.posts], 36.0)
    (drawing,) = elevations([fence], {"panel": view}, depths_in=depths, units="us")

    texts = ElementTree.fromstring(drawing.svg).iter(f"{SVG}text")  # noqa: S314 - our own
    colours = {node.attrib["fill"] for node in texts if node.text == "gap 7 in"}
    assert colours == {STOP if is_red else SOFT}


def test_number_of_a_post_below_its_fabric_stands_clear_of_the_fabric() -> None:
    # Line posts end 2 in below the fabric's top: their numbers stand over the fabric, not in it.
    (drawing,) = drawn(line(480, system="fabric", ground=FALL))
    corners = panels(drawing)
    texts = ElementTree.fromstring(drawing.svg).iter(f"{SVG}text")  # noqa: S314 - our own
    second = next(node for node in texts if node.text == "2")
    # At post 2 the first bay's upper end is the third corner.
    assert float(second.attrib["y"]) < corners[0][2][1] - 4
