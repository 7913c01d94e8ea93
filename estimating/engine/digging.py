"""Hours of digging: by soil and method, by hand where a machine may not or can't, rock apart."""

from dataclasses import replace

from estimating.engine.footings import Footings, PostHole
from estimating.engine.pace import Pace, is_dug_by_hand
from estimating.engine.result import Work
from estimating.engine.site import Conditions
from estimating.engine.steepness import Grade

Group = tuple[str, str, Grade, str]  # line, method, grade of the ground, why by hand


def dig_works(footings: Footings, conditions: Conditions, pace: Pace) -> list[Work]:
    """Return the digging of all holes, and what rock, rain and frost add to it."""
    groups: dict[Group, list[int]] = {}
    for each in _dug(footings):
        groups.setdefault(_group_of(each, conditions, pace), []).append(each.post.number)
    works = [
        pace.work(
            "dig",
            f"dig.{conditions.soil_class}.{method}",
            len(posts),
            "hole",
            line_id=line_id,
            posts=posts,
            factors=pace.slope(grade),
            note=why,
        )
        for (line_id, method, grade, why), posts in groups.items()
    ]
    works = _rock_apart(works, conditions.rock_holes, pace)
    return [
        *works,
        *_weather_works(footings, conditions, pace),
        *_drive_works(footings, conditions, pace),
    ]


def _dug(footings: Footings) -> list[PostHole]:
    return [each for each in footings.post_holes if each.setting != "driven"]


def _drive_works(footings: Footings, conditions: Conditions, pace: Pace) -> list[Work]:
    """Return the driving of the posts that need no hole: it sets them as well."""
    groups: dict[tuple[str, Grade], list[int]] = {}
    for each in footings.post_holes:
        if each.setting == "driven":
            key = (each.line.line_id, pace.steepness.grade_of_post(each.post.number))
            groups.setdefault(key, []).append(each.post.number)
    return [
        pace.work(
            "set",
            f"drive.{conditions.soil_class}",
            len(posts),
            "post",
            line_id=line_id,
            posts=posts,
            factors=pace.slope(grade),
        )
        for (line_id, grade), posts in groups.items()
    ]


def _group_of(each: PostHole, conditions: Conditions, pace: Pace) -> Group:
    grade = pace.steepness.grade_of_post(each.post.number)
    method, why = conditions.dig_method, ""
    if conditions.dig_method != "hand" and is_dug_by_hand(each, conditions, pace.steepness):
        method = "hand"
        why = "beside a utility's mark" if each.post.hand_dig else "too steep for machines"
    return each.line.line_id, method, grade, why


def _rock_apart(works: list[Work], rock_holes: int, pace: Pace) -> list[Work]:
    """Return the works with the holes that go into rock counted at their own rate.

    Nobody knows yet which holes those are, so the largest groups give theirs up first.
    """
    left = rock_holes
    kept: dict[int, Work] = dict(enumerate(works))
    for index, work in sorted(kept.items(), key=lambda item: -item[1].count):
        taken = min(left, int(work.count))
        if taken:
            rest = pace.work(
                "dig",
                work.rate,
                work.count - taken,
                work.unit,
                line_id=work.line_id,
                posts=work.posts,
                factors=[each for each in work.factors if each not in pace.waiting],
                note=f"{taken} of these holes are counted as rock",
            )
            kept[index] = replace(rest, note=", ".join(filter(None, (work.note, rest.note))))
        left -= taken
    in_rock = rock_holes - left
    posts = [number for work in works for number in work.posts]
    return [
        *kept.values(),
        pace.work("dig", "dig.rock_hole", in_rock, "hole", posts=posts, note="any of these posts"),
    ]


def _weather_works(footings: Footings, conditions: Conditions, pace: Pace) -> list[Work]:
    """Return what rain and frost add, where the office says that they will."""
    posts = [each.post.number for each in _dug(footings)]
    wet = min(conditions.wet_holes, len(posts))
    frozen = len(posts) if conditions.frozen_ground else 0
    return [
        pace.work("dig", "dig.again", wet, "hole", posts=posts, note="filled by rain"),
        pace.work("dig", "dig.frost_extra", frozen, "hole", posts=posts, note="frozen crust"),
    ]
