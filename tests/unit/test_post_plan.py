"""The plan of the posts between two terminals against every plan there is, on small stretches.

The oracle below tries every set of places for the posts and compares the plans by what the trade
asks of them, in order; it knows nothing of how the planner searches.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from estimating.engine.post_plan import HAIRS, Limits, Room, Stretch, best_plan

Rank = tuple[int | tuple[int, ...], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Laid:
    """One stretch laid out: the clear widths of its bays, how many are cut, posts dug by hand.

    A panel is cut where more than 1/32 in is missing to a full bay.
    """

    clear: tuple[int, ...]
    cut: int
    by_hand: int


def laid_out(stretch: Stretch, limits: Limits, places: Sequence[int]) -> Laid | None:
    """Return a stretch with its posts at the given places, or None where a rule is broken."""
    rooms = {
        place: room.by_hand for room in stretch.rooms for place in range(room.start, room.end + 1)
    }
    if not all(place in rooms for place in places):
        return None
    posts = [(0, stretch.first_half), *((place, limits.line_half) for place in places)]
    posts.append((stretch.length, stretch.last_half))
    clear = []
    for (start, first_half), (end, last_half) in pairwise(posts):
        clear.append((end - start) * HAIRS - first_half - last_half)
        if end - start > stretch.largest or clear[-1] < limits.narrowest_clear:
            return None
    return Laid(
        clear=tuple(clear),
        cut=sum(1 for each in clear if stretch.full_clear - each > HAIRS / 2),
        by_hand=sum(rooms[place] for place in places),
    )


def every_plan(stretch: Stretch, limits: Limits) -> Iterator[Laid]:
    """Yield every plan; no post in a barred place or past the largest spacing is tried."""
    open_places = {place for room in stretch.rooms for place in range(room.start, room.end + 1)}
    unfinished: list[tuple[int, ...]] = [()]
    while unfinished:
        places = unfinished.pop()
        last = places[-1] if places else 0
        is_whole = stretch.length - last <= stretch.largest
        if is_whole and (laid := laid_out(stretch, limits, places)):
            yield laid
        near = range(last + 1, last + stretch.largest + 1)
        unfinished += [(*places, place) for place in near if place in open_places]


def rank(section: Sequence[Laid], limits: Limits) -> Rank:
    """Return what is compared: posts, then evenness or cuts, then the offcut, then hand digging."""
    clear = [each for laid in section for each in laid.clear]
    by_hand = sum(laid.by_hand for laid in section)
    if limits.division == "equal":
        return len(clear), max(clear) - min(clear), -min(clear), by_hand
    # The longest offcut is the full width less the narrowest bay: the wider that one, the shorter.
    cut = sum(laid.cut for laid in section)
    return len(clear), cut, tuple(-min(laid.clear) for laid in section), by_hand


def best_rank(stretches: Sequence[Stretch], limits: Limits) -> Rank | None:
    plans = [list(every_plan(stretch, limits)) for stretch in stretches]
    return min((rank(section, limits) for section in product(*plans)), default=None)


def planned_rank(stretches: Sequence[Stretch], limits: Limits) -> Rank | None:
    planned = best_plan(stretches, limits)
    if planned is None:
        return None
    section = []
    for stretch, bays in zip(stretches, planned, strict=True):
        places = [sum(bays[:count]) for count in range(1, len(bays))]
        laid = laid_out(stretch, limits, places)
        assert sum(bays) == stretch.length
        assert laid is not None, "the plan breaks a rule"
        section.append(laid)
    return rank(section, limits)


def rooms_between(length: int, barred: Sequence[tuple[int, int]]) -> tuple[Room, ...]:
    """Return the places from 1 to the last but the barred, a room for each."""
    free = [
        place
        for place in range(1, length)
        if not any(start <= place <= end for start, end in barred)
    ]
    return tuple(Room(start=place, end=place) for place in free)


def limits_of(division: str, *, narrowest: int = 0, half: int = 50) -> Limits:
    return Limits(
        narrowest_clear=narrowest,
        line_half=half,
        division="equal" if division == "equal" else "full_and_short",
    )


def stretch_of(
    length: int,
    rooms: tuple[Room, ...],
    *,
    largest: int,
    first_half: int = 50,
    last_half: int = 50,
    half: int = 50,
) -> Stretch:
    return Stretch(
        length=length,
        largest=largest,
        full_clear=largest * HAIRS - 2 * half,
        first_half=first_half,
        last_half=last_half,
        rooms=rooms,
    )


# Halves of posts at the ends: none (a wall), as a line post, fatter, and off the grid.
halves = st.sampled_from([0, 50, 120, 133])


@st.composite
def sections(draw: st.DrawFn) -> tuple[list[Stretch], Limits]:
    """Return one or two short stretches with places barred and dug by hand, and their limits."""
    limits = limits_of(
        draw(st.sampled_from(["equal", "full_and_short"])),
        narrowest=draw(st.sampled_from([0, 100, 200, 270])),
        half=draw(st.sampled_from([50, 70, 100])),
    )
    stretches = []
    for longest in draw(st.sampled_from([(13,), (13,), (7, 6)])):
        length = draw(st.integers(2, longest))
        kinds = draw(
            st.lists(
                st.sampled_from(["free", "free", "by hand", "barred"]),
                min_size=length - 1,
                max_size=length - 1,
            )
        )
        rooms = tuple(
            Room(start=place, end=place, by_hand=kind == "by hand")
            for place, kind in enumerate(kinds, start=1)
            if kind != "barred"
        )
        stretches.append(
            stretch_of(
                length,
                rooms,
                largest=draw(st.integers(3, 8)),
                first_half=draw(halves),
                last_half=draw(halves),
                half=limits.line_half,
            )
        )
    return stretches, limits


@settings(max_examples=400, deadline=None)
@given(section=sections())
@example(
    # The one plan with a single cut bay has the short bay first: 4 and then 7.
    section=(
        [
            stretch_of(
                11,
                (Room(start=1, end=4), Room(start=7, end=10)),
                largest=7,
                first_half=133,
                last_half=0,
                half=70,
            )
        ],
        limits_of("full_and_short", narrowest=100, half=70),
    )
)
@example(
    # Beside the fatter post 1/3 of a sixteenth is missing to a full bay: that is no cut. So 7 + 4
    # has one cut bay as 4 + 7 has, and its short bay is the wider of the two.
    section=(
        [
            stretch_of(
                11,
                (Room(start=1, end=10),),
                largest=7,
                first_half=133,
                last_half=100,
                half=100,
            )
        ],
        limits_of("full_and_short", half=100),
    )
)
@example(
    # The most even plan, 4 + 5 + 4, has neither the least clear width there can be nor the largest.
    section=(
        [
            stretch_of(
                13,
                tuple(Room(start=place, end=place) for place in (1, 2, 4, 6, 7, 9, 10)),
                largest=6,
                first_half=120,
                last_half=0,
            )
        ],
        limits_of("equal"),
    )
)
def test_no_plan_is_better_than_the_plan(section: tuple[list[Stretch], Limits]) -> None:
    stretches, limits = section
    assert planned_rank(stretches, limits) == best_rank(stretches, limits)


@pytest.mark.parametrize("division", ["equal", "full_and_short"])
@pytest.mark.parametrize("length", range(6, 12))
def test_no_plan_is_better_with_any_one_stretch_barred(division: str, length: int) -> None:
    # Every interval that can be barred, at spacings of 3 to 6: 800 sections for each division.
    tried = 0
    for largest in (3, 4, 5, 6):
        limits = limits_of(division, narrowest=100)
        for start in range(1, length):
            for end in range(start, length):
                rooms = rooms_between(length, [(start, end)])
                stretch = stretch_of(length, rooms, largest=largest, last_half=120)
                assert planned_rank([stretch], limits) == best_rank([stretch], limits)
                tried += 1
    assert tried == 4 * length * (length - 1) // 2


def test_posts_that_need_not_be_dug_by_hand_are_not() -> None:
    # Two bays of 4 to 6 in 10, none wider than the other by 2 at most: the post may stand at 4, 5
    # or 6. Only 5 is even, and it is barred; 4 is dug by hand and 6 is not.
    rooms = (Room(start=4, end=4, by_hand=True), Room(start=6, end=6))
    stretch = stretch_of(10, rooms, largest=6)
    assert best_plan([stretch], limits_of("equal")) == [[6, 4]]


def test_what_is_alike_is_settled_by_place() -> None:
    # 12 in bays of at most 5 takes three; no place barred. Equal: 4, 4, 4. Full and short: 5, 5
    # and 2, the full ones first.
    stretch = stretch_of(12, rooms_between(12, []), largest=5)
    assert best_plan([stretch], limits_of("equal")) == [[4, 4, 4]]
    assert best_plan([stretch], limits_of("full_and_short")) == [[5, 5, 2]]
    # Two bays in 10 with the middle barred: 4 and 6 are as near to it, the earlier is taken.
    barred = stretch_of(10, rooms_between(10, [(5, 5)]), largest=6)
    assert best_plan([barred], limits_of("equal")) == [[4, 6]]


def test_no_plan_where_what_is_barred_is_wider_than_a_bay() -> None:
    # From 2 to 8 no post can stand: the bay across would be 9 - 1 = 8, over 7.
    rooms = rooms_between(10, [(2, 8)])
    assert best_plan([stretch_of(10, rooms, largest=7)], limits_of("equal")) is None
    assert best_plan([stretch_of(10, rooms, largest=8)], limits_of("equal")) == [[1, 8, 1]]
