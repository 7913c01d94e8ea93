"""Which posts and bays of a line a material is counted by."""

from dataclasses import dataclass

from estimating.engine.catalog import Material
from estimating.engine.products import SLIDE
from estimating.engine.result import LineLayout, Post

USUAL_SIZE = "usual"  # what a material calls the gate post that the system's roles name
BY_POST = frozenset({"post", "terminal", "corner"})
BY_SECTION_END = frozenset({"section_end", "height_ft"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Places:
    """Numbers of posts and of bays."""

    posts: tuple[int, ...] = ()
    bays: tuple[int, ...] = ()


def places_of(material: Material, line: LineLayout) -> Places:
    """Return the posts or the bays that ask for a material; what runs past bays names them all."""
    posts = _posts(material, line) if material.driver in BY_POST | BY_SECTION_END else ()
    # A section between two walls has ends and no post of its own: its bays are named.
    if posts:
        return Places(posts=posts)
    if material.driver == "wall_end":
        at_wall = (bay for bay in line.bays if 0 in (bay.from_post, bay.to_post))
        return Places(bays=tuple(bay.number for bay in at_wall))
    cut_only = material.driver == "cut_bay"
    return Places(bays=tuple(bay.number for bay in line.bays if bay.is_cut or not cut_only))


def _posts(material: Material, line: LineLayout) -> tuple[int, ...]:
    roles = {"corner"} if material.driver == "corner" else set(material.roles)
    terminals_only = material.driver != "post"
    return tuple(
        post.number
        for post in line.posts
        if (not roles or post.kind in roles)
        and not (terminals_only and post.kind == "line")
        and is_of_size(material, post)
    )


def is_of_size(material: Material, post: Post) -> bool:
    """Say whether a post of this size takes a material; a slide gate's only where it says so."""
    if not material.gate_posts:
        return post.size != SLIDE
    return (post.size or USUAL_SIZE) in material.gate_posts
