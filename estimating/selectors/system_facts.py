"""What a fence system is made of, in words and units, for those who look."""

from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from estimating.selectors import system_words as words
from estimating.selectors.by_foot import for_one, shown_for_one
from estimating.selectors.rates import rate_label
from firm.measure import loads
from firm.measure.loads import Measure
from firm.measure.written import M_PER_FT, METRIC, short_length

Facts = list[tuple[str, str]]
CHOICES = {
    "family": words.FAMILIES,
    "spacing": words.SPACINGS,
    "division": words.DIVISIONS,
    "setting": words.SETTINGS,
    "rails": words.RAILS,
    "members": words.MEMBERS,
    "infill": words.INFILLS,
    "rails_show": words.RAILS_SHOW,
}
LABELS = {
    "height_in": "Height",
    "ground_gap_in": "Gap under the fence",
    "max_on_centre_in": "Posts apart at most",
    "min_clear_in": "Narrowest bay",
    "division": "How bays are divided",
    "spacing": "Spacing is measured",
    "family": "What it is",
    "setting": "How posts are set",
    "pull_every_in": "A pull post every",
    "rails": "Rails",
    "max_rack_in": "A bay racks by at most",
    "largest_gap_in": "Largest gap under a level bay",
    "height_tolerance_in": "A level bay stands higher by at most",
    "ease_in": "A string misses the ground by at most",
    "corner_turn_deg": "A corner post from a turn of",
    "rail_insertion_in": "Rail inside each post",
    "channel_allowance_in": "Both channels together",
    "board_coverage_in": "A board covers",
    "rail_sags_over_in": "A bottom rail sags when longer than",
    "times_width": "Across, in widths of the post",
    "times_width_up_to_in": "... up to a post of",
    "times_width_above": "... of a wider post",
    "base_depth_in": "At least this deep",
    "base_height_in": "... up to a fence of",
    "extra_depth_per_ft_in": "... and deeper for each foot above",
    "gate_extra_depth_in": "Deeper beside a gate by",
    "concrete_top_in": "Top of the concrete against the ground",
    "gravel_in": "Gravel at the bottom",
    "bell_diameter_in": "Bell at the bottom, across",
    "bell_height_in": "Height of the bell",
    "hinge_gap_in": "Gap at the hinges",
    "latch_gap_in": "Gap at the latch",
    "centre_gap_in": "Gap between two leaves",
    "largest_leaf_in": "Widest leaf",
    "usual_post_up_to_leaf_in": "Usual gate post up to a leaf of",
    "usual_post_up_to_leaf_lb": "... and up to a weight of",
    "third_hinge_over_height_in": "A third hinge over a height of",
    "third_hinge_over_leaf_in": "... over a leaf of",
    "third_hinge_over_leaf_lb": "... over a weight of",
    "tail_pct": "Tail, per cent of the opening",
    "overlap_in": "Laps the latch post by",
    "tail_grip_in": "Tail past the second rollers, closed",
    "largest_opening_in": "Widest opening",
    "largest_rise_in": "Ground may rise along its way by",
    "infill": "Its infill is",
    "opening_in": "Clear opening",
    "rails_apart_in": "Tops of neighbouring rails apart",
    "rails_show": "A foot finds rails",
    "solidity": "Part of the infill that is solid",
    "members": "Its pieces are",
    "member_in": "Across one piece",
    "leaf_lb_ft2": "A gate's leaf weighs",
    "is_movement_harmless": "Half an inch at the ground does no harm",
}
MEASURES: Mapping[str, Measure] = {
    "_lb": loads.WEIGHT,
    "_lb_ft2": loads.WEIGHT_OF_AREA,
}
UNRATED = {"material": "unrated"}
GROUPS = {
    "hole": "Holes",
    "gate": "Gates",
    "gate.slide": "Slide gate",
    "labor": "Labour",
    "wind": "Posts against wind",
    "barrier": "As a pool barrier",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class PostFacts:
    """A post: where it stands or what leaf it is enough for, and how strong it is."""

    role: str
    item: str
    width: str
    length: str
    hole: str
    setting: str
    strength: str


@dataclass(frozen=True, kw_only=True, slots=True)
class MaterialFacts:
    """One item: how many of it, for what, and where alone it counts."""

    item: str
    quantity: str
    driver: str
    limits: str
    pieces: str
    work: str


@dataclass(frozen=True, kw_only=True, slots=True)
class SystemFacts:
    """A fence system in words."""

    figures: Facts
    groups: list[tuple[str, Facts]]
    posts: list[PostFacts]
    gate_posts: list[PostFacts]
    materials: list[MaterialFacts]


def system_facts(
    definition: Mapping[str, Any],
    names: Mapping[str, str],
    units: str,
    in_feet: Container[str] = frozenset(),
) -> SystemFacts:
    """Return a definition in words; items by their names, lengths in the firm's units.

    `in_feet` are the items that are counted in feet.
    """
    strengths = (definition.get("wind") or {}).get("posts") or {}
    gate = definition.get("gate") or {}
    slide = (gate.get("slide") or {}).get("post")
    return SystemFacts(
        figures=list(_facts(definition, units)),
        groups=[(title, facts) for title, facts in _groups(definition, units) if facts],
        posts=[
            _post(words.ROLES.get(role, role), post, names, units, strength)
            for role, post in (definition.get("posts") or {}).items()
            for strength in [strengths.get(role) or strengths.get("end")]
        ],
        gate_posts=[
            *(
                _post(_leaf_limits(each, units), each.get("post") or {}, names, units, strength)
                for each in gate.get("heavier_posts") or []
                for strength in [each.get("strength") or UNRATED]
            ),
            *([_post("a slide gate's rollers", slide, names, units, None)] if slide else []),
        ],
        materials=[
            _material(each, names, units, in_feet) for each in definition.get("materials") or []
        ],
    )


def _groups(definition: Mapping[str, Any], units: str) -> Iterator[tuple[str, Facts]]:
    for part, title in GROUPS.items():
        figures: Any = definition
        for step in part.split("."):
            figures = figures.get(step) or {}
        if part == "labor":
            yield (
                title,
                [(_activity(each, units), rate_label(rate)) for each, rate in figures.items()],
            )
        else:
            yield title, list(_facts(figures, units))


def _activity(activity: str, units: str) -> str:
    said = words.ACTIVITIES.get(activity, _spaced(activity))
    return words.in_metric_words(activity, said, units)


def _facts(figures: Mapping[str, Any], units: str) -> Iterator[tuple[str, str]]:
    for name, value in figures.items():
        if isinstance(value, bool | int | float | str):
            label = LABELS.get(name, _spaced(name.removesuffix("_in")))
            yield words.in_metric_words(name, label, units), _value(name, value, units)


def _value(name: str, value: bool | float | str, units: str) -> str:
    if isinstance(value, bool):
        return "Yes" if value else "No"
    if isinstance(value, str):
        return CHOICES.get(name, {}).get(value, _spaced(value))
    if name == "concrete_top_in":
        where = "below" if value < 0 else "above"
        return f"{short_length(abs(value), units)} {where}" if value else "Level with it"
    if name.endswith("_per_ft_in") and units == METRIC:
        value /= M_PER_FT
    if name.endswith("_in"):
        return short_length(float(value), units)
    if name.endswith("_deg"):
        return f"{value:g} degrees"
    measure = next((each for ending, each in MEASURES.items() if name.endswith(ending)), None)
    return measure.exact(value, units) if measure else f"{value:g}"


def _leaf_limits(gate_post: Mapping[str, Any], units: str) -> str:
    weight = gate_post.get("up_to_leaf_lb")
    limits = [
        f"leaves up to {short_length(float(gate_post.get('up_to_leaf_in') or 0), units)}",
        *([loads.WEIGHT.exact(weight, units)] if weight else []),
    ]
    name = str(gate_post.get("key", "")).replace("_", " ")
    return f"{name}: {' and '.join(limits)}"


def _post(
    role: str,
    post: Mapping[str, Any],
    names: Mapping[str, str],
    units: str,
    strength: Mapping[str, Any] | None,
) -> PostFacts:
    hole, depth = post.get("hole_diameter_in"), post.get("least_depth_in")
    across = short_length(float(hole), units) if hole else "by its width"
    return PostFacts(
        role=role,
        item=names.get(post.get("item", ""), post.get("item", "")),
        width=short_length(float(post.get("width_in") or 0), units),
        length=short_length(float(post.get("length_in") or 0), units),
        hole=f"{across}, {short_length(float(depth), units)} deep or more" if depth else across,
        setting=words.SETTINGS.get(post.get("setting", ""), ""),
        strength=words.strength_words(strength, units) if strength else "",
    )


def _material(
    material: dict[str, Any], names: Mapping[str, str], units: str, in_feet: Container[str]
) -> MaterialFacts:
    driver = material.get("driver", "")
    kept_in_one = for_one(driver, units, is_length=material.get("item") in in_feet)
    return MaterialFacts(
        item=names.get(material.get("item", ""), material.get("item", "")),
        quantity=f"{shown_for_one(material.get('quantity', 1), kept_in_one):g}",
        driver=words.driver_words(driver, units),
        limits=words.material_limits(material),
        pieces=words.material_pieces(material, units),
        work=words.material_work(material, names, units),
    )


def _spaced(name: str) -> str:
    return name.replace("_", " ").capitalize()
