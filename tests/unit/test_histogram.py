"""The histogram's drawing: bars as high as their counts, marks in place, words that stay on it."""

import re
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from estimating.drawing.histogram import PriceMark, histogram_svg

SVG = "{http://www.w3.org/2000/svg}"
EDGES = (1000.0, 1100.0, 1200.0, 1300.0)


def drawn(
    counts: tuple[int, ...] = (2, 4, 1), *marks: PriceMark, edges: tuple[float, ...] = EDGES
) -> ET.Element:
    text = histogram_svg(edges, counts, marks=marks, title="Prices & more", about="Three bars")
    return ET.fromstring(text)  # noqa: S314 - our own drawing


def numbers(svg: ET.Element, tag: str, name: str) -> list[float]:
    return [float(each.attrib[name]) for each in svg.iter(f"{SVG}{tag}")]


def test_bars_are_as_high_as_their_counts_and_stand_on_one_floor() -> None:
    svg = drawn()
    high, top = numbers(svg, "rect", "height"), numbers(svg, "rect", "y")

    assert high[1] == pytest.approx(2 * high[0], abs=0.02)
    assert high[1] == pytest.approx(4 * high[2], abs=0.02)
    assert len({round(each + y, 1) for each, y in zip(high, top, strict=True)}) == 1


def test_an_empty_bin_has_no_bar_and_nothing_counted_no_drawing() -> None:
    assert len(numbers(drawn((3, 0, 1)), "rect", "x")) == 2
    assert histogram_svg(EDGES, (0, 0, 0), marks=(), title="", about="") == ""
    assert histogram_svg((), (), marks=(), title="", about="") == ""


def test_it_says_in_words_what_it_is() -> None:
    svg = drawn()
    title, about = svg.find(f"{SVG}title"), svg.find(f"{SVG}desc")
    assert title is not None
    assert about is not None

    assert (title.text, about.text) == ("Prices & more", "Three bars")
    assert svg.attrib["role"] == "img"
    assert svg.attrib["aria-labelledby"] == f"{title.attrib['id']} {about.attrib['id']}"
    assert not re.search(r"style|script", ET.tostring(svg, encoding="unicode"))


def test_a_mark_outside_the_bars_widens_the_axis() -> None:
    svg = drawn(
        (2, 4, 1),
        PriceMark(price=500.0, words="today $500"),
        PriceMark(price=1250.0, words="80 %", is_strong=True),
    )
    strong = [line for line in svg.iter(f"{SVG}line") if line.attrib["stroke-width"] == "2.5"]
    bars = numbers(svg, "rect", "x")

    assert all(20.0 <= x <= 700.0 for x in numbers(svg, "line", "x1"))
    (mark,) = strong
    # The strong mark at $1,250 stands in the middle of the third bar, from $1,200 to $1,300.
    assert float(mark.attrib["x1"]) == pytest.approx(bars[2] + (bars[2] - bars[1]) / 2, abs=0.1)


@pytest.mark.parametrize(
    "edges",
    [EDGES, (6500.0, 7100.0, 7700.0, 8300.0), (10.0, 10.4, 10.8, 11.2), (0.0, 4e5, 8e5, 12e5)],
)
def test_prices_on_the_axis_are_round_and_evenly_spaced(edges: tuple[float, ...]) -> None:
    svg = drawn(edges=edges)
    ticks = [
        float(str(each.text).replace("$", "").replace(",", "")) for each in svg.iter(f"{SVG}text")
    ]
    steps = {round(b - a, 6) for a, b in pairwise(ticks)}

    assert 1 <= len(ticks) <= 8
    assert len(steps) <= 1
    assert all(re.fullmatch(r"[125]0*", f"{step:.0f}") for step in steps)


def test_a_single_price_is_one_bar() -> None:
    svg = drawn((7,), PriceMark(price=1000.0, words="today"), edges=(999.5, 1000.5))
    assert len(numbers(svg, "rect", "x")) == 1
