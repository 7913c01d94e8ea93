"""What holds for every layout, whatever is measured. Geometry; no source needed."""

import math

from hypothesis import given
from hypothesis import strategies as st

from estimating.engine.bays import count_bays, divide
from estimating.engine.result import LineLayout
from estimating.engine.site import FenceLine, Gate, GroundShot, Leg, LineEnd, NoDigStrip
from tests.unit.layout_samples import FABRIC, PANEL, gate, laid_out, legs, line, only_line, shared

SIXTEENTH = 1 / 16
LEFT_OUT = {"gate-longer-than-leg", "gate-across-corner", "gate-off-line", "gates-overlap"}


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


ends = st.builds(
    LineEnd,
    kind=st.sampled_from(["post", "existing_post"]),
    measured_at=st.sampled_from(["post_centre", "inner_face", "outer_face"]),
) | st.just(WALL)
gates = st.builds(
    Gate,
    id=st.sampled_from(["G1", "G2", "G3"]),
    station_in=grid(0, 1500),
    clear_opening_in=grid(1, 240),
    leaves=st.sampled_from([1, 2]),
)
shots = st.builds(GroundShot, station_in=grid(-50, 1500), elevation_in=grid(-200, 200))
any_line = st.builds(
    FenceLine,
    id=st.just("A"),
    name=st.just("Line"),
    system=st.sampled_from(["panel", "fabric", "full_and_short"]),
    legs=st.lists(
        st.builds(
            Leg,
            length_in=st.floats(0.1, 800),
            turn_deg=st.sampled_from([0, 3, 45, 90, -90, 180]) | st.floats(-180, 180),
        ),
        min_size=1,
        max_size=4,
    ).map(tuple),
    scope=st.sampled_from(["whole_fence", "posts_only", "removal"]),
    taped=st.sampled_from(["level", "along_grade"]),
    start=ends,
    end=ends,
    closed=st.booleans(),
    ground=st.lists(shots, max_size=4).map(tuple),
    gates=st.lists(gates, max_size=3).map(tuple),
    no_dig=st.lists(
        st.builds(NoDigStrip, station_in=grid(0, 800), facility_width_in=grid(0, 24)), max_size=2
    ).map(tuple),
)


@given(fence_line=any_line)
def test_whatever_is_measured_is_laid_out_or_said_why_not(fence_line: FenceLine) -> None:
    layout = laid_out(fence_line)
    fence = only_line(layout)
    for section in fence.sections:
        on_centres = [bay.on_centre_in for bay in fence.bays if bay.section == section.number]
        assert sum(on_centres) == section.length_in
        assert all(0 < length <= section.max_on_centre_in for length in on_centres)
    assert [post.number for post in fence.posts] == list(range(1, len(fence.posts) + 1))
    numbers = {0, *(post.number for post in fence.posts)}
    assert {bay.from_post for bay in fence.bays} | {bay.to_post for bay in fence.bays} <= numbers
    assert {hung.from_post for hung in fence.gates} | {hung.to_post for hung in fence.gates} <= (
        numbers
    )
    stations = [post.station_in for post in fence.posts]
    assert stations == sorted(set(stations))
    assert all(math.isfinite(post.x_in) and math.isfinite(post.y_in) for post in fence.posts)
    if fence.scope != "removal":
        given_ids = [each.id for each in fence_line.gates]
        assert len(fence.gates) + sum(found.code in LEFT_OUT for found in layout.findings) == len(
            given_ids
        )
    if any(bay.spacer_in < 0 for bay in fence.bays):
        assert any(found.code == "posts-overlap" for found in layout.findings)
