"""What holds for every layout, whatever is measured. Geometry; no source needed."""

import math

from hypothesis import given
from hypothesis import strategies as st

from estimating.engine.bays import count_bays, divide
from estimating.engine.result import LineLayout
from estimating.engine.site import LineEnd
from tests.unit.layout_samples import FABRIC, PANEL, gate, laid_out, legs, line, only_line, shared

SIXTEENTH = 1 / 16


def grid(low_in: int, high_in: int) -> st.SearchStrategy[float]:
    """Return lengths of whole sixteenths."""
    return st.integers(low_in * 16, high_in * 16).map(lambda sixteenths: sixteenths / 16)


lengths = grid(1, 3000)
leg_lengths = grid(60, 1200)
maxima = grid(24, 144)
WALL = LineEnd(kind="wall", measured_at="wall_face")


def bays_needed(length_in: float, max_in: float) -> int:
    return math.ceil(length_in / max_in)


def assert_sections_add_up(fence: LineLayout, *, equal: bool) -> None:
    for section in fence.sections:
        on_centres = [bay.on_centre_in for bay in fence.bays if bay.section == section.number]
        assert sum(on_centres) == section.length_in
        assert len(on_centres) == section.bays
        assert max(on_centres) <= section.max_on_centre_in
        assert all(length * 16 == int(length * 16) for length in on_centres)
        if equal:
            assert max(on_centres) - min(on_centres) <= SIXTEENTH


@given(length_in=lengths, max_in=maxima)
def test_equal_bays_add_up_differ_by_a_sixteenth_and_keep_the_maximum(
    length_in: float, max_in: float
) -> None:
    bays = divide(length_in, max_in, "equal")
    assert sum(bays) == length_in
    assert max(bays) - min(bays) <= SIXTEENTH
    assert max(bays) <= max_in
    assert len(bays) == bays_needed(length_in, max_in)


@given(length_in=lengths, max_in=maxima)
def test_full_bays_and_a_short_one_add_up(length_in: float, max_in: float) -> None:
    bays = divide(length_in, max_in, "full_and_short")
    assert sum(bays) == length_in
    assert all(bay == max_in for bay in bays[:-1])
    assert 0 < bays[-1] <= max_in
    assert len(bays) == bays_needed(length_in, max_in)


@given(whole=st.integers(1, 50), max_in=maxima)
def test_a_thirty_second_over_whole_bays_is_no_further_bay(whole: int, max_in: float) -> None:
    assert count_bays(whole * max_in + 1 / 32, max_in) == whole
    assert count_bays(whole * max_in + SIXTEENTH, max_in) == whole + 1


@given(leg_lengths_in=st.lists(leg_lengths, min_size=1, max_size=4), turn=st.sampled_from([90, 60]))
def test_open_line_has_one_post_more_than_bays(leg_lengths_in: list[float], turn: float) -> None:
    fence = only_line(laid_out(line(legs=legs(*leg_lengths_in, turn_deg=turn))))
    assert_sections_add_up(fence, equal=True)
    assert len(fence.bays) == sum(bays_needed(each, 96) for each in leg_lengths_in)
    assert len(fence.posts) == len(fence.bays) + 1
    assert fence.posts[-1].station_in == sum(leg_lengths_in)


@given(sides=st.tuples(leg_lengths, leg_lengths))
def test_closed_line_has_as_many_posts_as_bays(sides: tuple[float, float]) -> None:
    fence = only_line(laid_out(line(*sides, *sides, closed=True)))
    assert_sections_add_up(fence, equal=True)
    assert len(fence.posts) == len(fence.bays) == 2 * sum(bays_needed(each, 96) for each in sides)


@given(length_in=leg_lengths, both=st.booleans())
def test_each_wall_saves_a_post(length_in: float, both: bool) -> None:
    fence = only_line(laid_out(line(length_in, start=WALL, end=WALL if both else LineEnd())))
    assert_sections_add_up(fence, equal=True)
    assert len(fence.posts) == len(fence.bays) - both
    # The first bay runs from the wall's face; its spacer lacks only half of its one post.
    half_in = 0 if len(fence.posts) == 0 else PANEL.posts["line"].width_in / 2
    assert fence.bays[0].spacer_in == fence.bays[0].on_centre_in - half_in


@given(owner_in=leg_lengths, joining_in=leg_lengths)
def test_shared_post_counts_once(owner_in: float, joining_in: float) -> None:
    joining = line(joining_in, id="B", start=shared("A", "end"), bearing_deg=180)
    first, second = laid_out(line(owner_in), joining).lines
    assert len(first.posts) == len(first.bays) + 1
    assert len(second.posts) == len(second.bays)
    assert second.bays[0].from_post == first.posts[-1].number


@given(
    length_in=grid(400, 1200),
    station_in=grid(100, 200),
    opening_in=grid(30, 72),
    system=st.sampled_from(["panel", "full_and_short", "fabric"]),
)
def test_a_gate_takes_its_opening_and_leaves_the_rest_to_the_bays(
    length_in: float, station_in: float, opening_in: float, system: str
) -> None:
    fence = only_line(
        laid_out(line(length_in, system=system, gates=(gate(station_in, opening_in),)))
    )
    assert_sections_add_up(fence, equal=system != "full_and_short")
    (hung,) = fence.gates
    bays_in = sum(bay.on_centre_in for bay in fence.bays)
    assert bays_in + hung.on_centre_in == length_in
    assert len(fence.posts) == len(fence.bays) + len(fence.gates) + 1
    half_in = fence.posts[hung.from_post - 1].width_in / 2
    assert hung.on_centre_in == opening_in + 2 * half_in
    assert fence.posts[hung.from_post - 1].station_in + half_in == station_in


@given(length_in=leg_lengths)
def test_spacers_and_posts_fill_the_section(length_in: float) -> None:
    # From the first post's inner face to the last one's: spacers and whole line posts.
    fence = only_line(laid_out(line(length_in, system="fabric")))
    line_posts_in = sum(post.width_in for post in fence.posts[1:-1])
    spacers_in = sum(bay.spacer_in for bay in fence.bays)
    assert math.isclose(spacers_in + line_posts_in, length_in - FABRIC.posts["end"].width_in)
