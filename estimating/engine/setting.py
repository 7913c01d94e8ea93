"""Hours of setting posts: placing and plumbing by kind, bracing, steps and brace assemblies."""

from collections.abc import Iterable

from estimating.engine.catalog import FenceSystem
from estimating.engine.pace import Pace
from estimating.engine.products import setting_of
from estimating.engine.result import LineLayout, Post, Work
from estimating.engine.steepness import Grade

LEAST_STEP_IN = 1 / 16  # what a tape reads


def set_works(line: LineLayout, system: FenceSystem, pace: Pace) -> list[Work]:
    """Return the work on a line's posts, without their concrete.

    `set_bracing` and `set_step` of a fence system name what comes on top: the braces that hold a
    post until its concrete does, and the marks for two bays that meet it at different heights.
    """
    return [
        *_placing(line, system, pace),
        *_on_top(line, system, pace, "set_bracing", line.posts),
        *_on_top(line, system, pace, "set_step", posts_at_steps(line)),
        *_brace_assemblies(line, system, pace),
    ]


def posts_at_steps(line: LineLayout) -> list[Post]:
    """Return the posts at which two bays stand at different heights."""
    ends = {bay.to_post: bay.base_end_in for bay in line.bays if bay.follows}
    steps = {
        bay.from_post
        for bay in line.bays
        if bay.follows
        and abs(ends.get(bay.from_post, bay.base_start_in) - bay.base_start_in) >= LEAST_STEP_IN
    }
    return [post for post in line.posts if post.number in steps]


def _placing(line: LineLayout, system: FenceSystem, pace: Pace) -> list[Work]:
    groups: dict[tuple[str, Grade], list[int]] = {}
    for post in line.posts:
        if setting_of(system, post) == "driven":
            continue  # driving sets it, at a rate by the soil
        rate = system.labor.get(f"set_{post.kind}") or system.labor.get("set_line", "set.line")
        grade = pace.steepness.grade_of_post(post.number)
        groups.setdefault((rate, grade), []).append(post.number)
    return [_on_posts(rate, posts, grade, line, pace) for (rate, grade), posts in groups.items()]


def _on_top(
    line: LineLayout, system: FenceSystem, pace: Pace, activity: str, posts: Iterable[Post]
) -> list[Work]:
    rate = system.labor.get(activity)
    if rate is None:
        return []
    groups: dict[Grade, list[int]] = {}
    for post in posts:
        groups.setdefault(pace.steepness.grade_of_post(post.number), []).append(post.number)
    return [_on_posts(rate, numbers, grade, line, pace) for grade, numbers in groups.items()]


def _on_posts(rate: str, posts: list[int], grade: Grade, line: LineLayout, pace: Pace) -> Work:
    return pace.work(
        "set",
        rate,
        len(posts),
        "post",
        line_id=line.line_id,
        posts=posts,
        factors=pace.slope(grade),
    )


def _brace_assemblies(line: LineLayout, system: FenceSystem, pace: Pace) -> list[Work]:
    """Return the brace assemblies: one for each direction that wire pulls from a terminal."""
    if "set_brace" not in system.labor:
        return []
    count = 2 * len(line.sections)
    terminals = [post.number for post in line.posts if post.kind != "line"]
    rate = system.labor["set_brace"]
    return [pace.work("set", rate, count, "brace", line_id=line.line_id, posts=terminals)]
