"""What differs between two results of one site: posts, bays and bags, old to new.

Posts and bays are compared by their place in the order of their line, as a crew counts them off.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import zip_longest
from typing import Literal

from estimating.engine.result import Bay, EstimateResult, Hole, Post

What = Literal[
    "added",
    "removed",
    "renumbered",
    "moved",
    "kind",
    "longer",
    "shorter",
    "hole",
    "digging",
    "top",
    "size",
]


# A post's field: what is said where it differs.
CHANGES: dict[str, What] = {
    "number": "renumbered",
    "station_in": "moved",
    "kind": "kind",
    "hole_depth_in": "hole",
    "hand_dig": "digging",
    "lift_in": "top",
    "size": "size",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class PostState:
    """A post as one of the two results has it."""

    number: int
    kind: str
    station_in: float
    length_in: float
    hole_depth_in: float
    hand_dig: bool
    lift_in: float = 0.0
    size: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class PostDifference:
    """A post that is not as it was: None where it was not, or is no more."""

    line_id: str
    was: PostState | None
    now: PostState | None
    what: tuple[What, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class BayDifference:
    """A bay whose spacer, rail, cut or way on its ground changed; None where there is no bay."""

    line_id: str
    number: int
    was_spacer_in: float | None
    spacer_in: float | None
    on_centre_in: float | None
    panel_in: float | None
    is_cut: bool
    was_follows: str = ""
    follows: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class LineDifference:
    """How long a line was and is, and how many posts it had and has."""

    line_id: str
    name: str
    was_length_in: float
    length_in: float
    was_posts: int
    posts: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Differences:
    """Everything that differs."""

    lines: tuple[LineDifference, ...]
    posts: tuple[PostDifference, ...]
    bays: tuple[BayDifference, ...]
    was_bags: int
    bags: int

    @property
    def is_empty(self) -> bool:
        """Say whether nothing that is built differs."""
        return not (self.lines or self.posts or self.bays) and self.was_bags == self.bags


def differences(old: EstimateResult, new: EstimateResult) -> Differences:
    """Return what differs between two results of the same lines."""
    pairs = list(zip(old.lines, new.lines, strict=True))
    old_holes = {hole.post_number: hole for hole in old.holes}
    new_holes = {hole.post_number: hole for hole in new.holes}
    return Differences(
        lines=tuple(
            LineDifference(
                line_id=now.line_id,
                name=now.name,
                was_length_in=was.length_in,
                length_in=now.length_in,
                was_posts=len(was.posts),
                posts=len(now.posts),
            )
            for was, now in pairs
            if was.length_in != now.length_in or len(was.posts) != len(now.posts)
        ),
        posts=tuple(
            each
            for was, now in pairs
            for each in _posts(was.line_id, was.posts, now.posts, old_holes, new_holes)
        ),
        bays=tuple(each for was, now in pairs for each in _bays(was.bays, now.bays)),
        was_bags=old.concrete.bags,
        bags=new.concrete.bags,
    )


def _posts(
    line_id: str,
    old: tuple[Post, ...],
    new: tuple[Post, ...],
    old_holes: dict[int, Hole],
    new_holes: dict[int, Hole],
) -> Iterator[PostDifference]:
    for was_post, now_post in zip_longest(old, new):
        was = _state(was_post, old_holes) if was_post else None
        now = _state(now_post, new_holes) if now_post else None
        if was != now:
            yield PostDifference(line_id=line_id, was=was, now=now, what=tuple(_what(was, now)))


def _state(post: Post, holes: dict[int, Hole]) -> PostState:
    hole = holes.get(post.number)
    return PostState(
        number=post.number,
        kind=post.kind,
        station_in=post.station_in,
        length_in=post.length_in,
        hole_depth_in=hole.depth_in if hole else 0.0,
        hand_dig=post.hand_dig,
        # Heights of the ground are floats; what no tape can read is no difference.
        lift_in=round(post.lift_in, 2),
        size=post.size,
    )


def _what(was: PostState | None, now: PostState | None) -> Iterator[What]:
    if was is None or now is None:
        yield "added" if was is None else "removed"
        return
    for field, what in CHANGES.items():
        if getattr(was, field) != getattr(now, field):
            yield what
    if was.length_in != now.length_in:
        yield "longer" if now.length_in > was.length_in else "shorter"


def _bays(old: tuple[Bay, ...], new: tuple[Bay, ...]) -> Iterator[BayDifference]:
    for was, now in zip_longest(old, new):
        either = now or was
        is_same = (
            was is not None
            and now is not None
            and (was.spacer_in, was.panel_in, was.is_cut)
            == (now.spacer_in, now.panel_in, now.is_cut)
            and now.follows == (was.follows or now.follows)
        )
        if is_same or either is None:
            continue
        yield BayDifference(
            line_id=either.line_id,
            number=either.number,
            was_spacer_in=was.spacer_in if was else None,
            spacer_in=now.spacer_in if now else None,
            on_centre_in=now.on_centre_in if now else None,
            panel_in=now.panel_in if now else None,
            is_cut=bool(now and now.is_cut),
            was_follows=was.follows if was else "",
            follows=now.follows if now else "",
        )
