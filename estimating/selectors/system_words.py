"""The words that pages use for a fence system's choices, roles, drivers and activities."""

from collections.abc import Mapping
from typing import Any

from estimating.selectors.rates import rate_label
from firm.measure import loads
from firm.measure.lengths import IN_PER_FT
from firm.measure.written import METRIC, exact_in, short_length

FAMILIES = {"panel": "Bays between posts", "fabric": "Stretched along the posts"}
SPACINGS = {"level": "Level", "along_grade": "Along the ground"}
DIVISIONS = {"equal": "All bays alike", "full_and_short": "Full bays, the rest in a short one"}
SETTINGS = {
    "wet_set": "Pushed into wet concrete",
    "pour_around": "Concrete poured around it",
    "dry_pack": "Dry mix packed around it",
    "tamped": "Earth tamped around it",
    "driven": "Driven",
}
RAILS = {"cut_on_site": "Cut on site", "fixed": "Fixed, a panel as it is made"}
MEMBERS = {"flat": "Flat or square", "round": "Round"}
SHAPES = {"square": "Square", "round": "Round"}
ROLES = {
    "line": "Line post",
    "end": "End post",
    "corner": "Corner post",
    "gate": "Gate post",
    "pull": "Pull post",
}
# Where an item may count: the ends of a bay may stand at a bend too.
PLACES_OF_ITEMS = {**{role: words.lower() for role, words in ROLES.items()}, "bend": "bend"}
DRIVERS = {
    "post": "each post",
    "bay": "each bay",
    "cut_bay": "each bay that is cut",
    "foot": "each foot of fence",
    "section": "each section",
    "section_end": "each end of a section",
    "wall_end": "each end at a wall",
    "corner": "each corner",
    "terminal": "each end, corner, gate or pull post",
    "gate": "each gate",
    "leaf": "each leaf of a gate",
    "leaf_ft": "each foot of a gate's leaves",
    "third_hinge": "each leaf that takes a third hinge",
    "height_ft": "each foot of height, at each end of a section",
    "board": "each board of a bay, by its coverage",
    "rail_stock": "each piece of stock along a section",
    "rail_row": "each piece of a row of rails through the posts",
    "run_board": "each board side by side or lapped",
    "square_end": "each end of a bay that meets its post square",
    "swivel_end": "each end of a bay at a corner that is not square",
    "bay_picket": "each picket of a bay, at equal gaps",
    "job": "each job",
}
ACTIVITIES = {
    "set_line": "Setting a line post",
    "set_end": "Setting an end post",
    "set_corner": "Setting a corner post",
    "set_gate": "Setting a gate post",
    "set_pull": "Setting a pull post",
    "set_step": "Setting a post at a step, on top",
    "set_brace": "Setting the posts of a brace",
    "set_bracing": "Bracing a post until it holds, on top",
    "hang_bay": "Hanging a bay",
    "hang_cut_bay": "Hanging a bay that is cut, on top",
    "less help": "Of 5 bands counted, less 1, 4 are taken.",
    "hang_foot": "Hanging a foot of fence",
    "hang_piece": "Hanging a piece by itself",
    "hang_terminal": "Fittings at an end, corner, gate or pull post",
    "gate_1": "Hanging a gate of one leaf",
    "gate_2": "Hanging a gate of two leaves",
    "gate_pool": "Hanging a pool gate",
    "gate_slide": "Hanging a slide gate",
}
USES = {
    "walk": "walk gates",
    "mower": "gates for a mower",
    "drive": "drive gates",
    "pool": "pool gates",
    "livestock": "gates for livestock",
}
LEAVES = {1: "one leaf", 2: "two leaves"}
MATERIALS_OF_POSTS = {
    "timber": "Timber",
    "pipe": "Steel pipe",
    "tube": "Square steel tube",
    "vinyl": "Vinyl",
    "unrated": "Not rated",
}
INSERTS = {
    "none": "None",
    "above_ground": "Above the ground only",
    "full_depth": "Its full depth",
}
CUTS = {
    "bay_rail": "To span each bay",
    "bay_board": "The last board of each bay, by its width",
    "rail_row": "Rails that run through the posts",
    "end_bay": "Braces of the first and last bay of a section",
    "run": "Lengths joined along each section",
    "piece": "Boards or pickets all of one length",
}
STIFFENS = {"bottom_rail": "The bottom rail: a line may go without"}
# What a post takes up of the concrete around it.
TAKES_UP = {
    "solid": "All of it: a solid post",
    "outline": "All of it: a hollow post that stays empty",
    "wall": "Its wall alone: it fills up",
    "nothing": "Nothing: it fills up",
}
IN_CONCRETE = {
    "wet_set": "Pushed into wet concrete it displaces",
    "pour_around": "Concrete poured around, it displaces",
    "dry_pack": "Dry mix packed around, it displaces",
}
INFILLS = {"boards": "Boards or rails", "pickets": "Pickets", "mesh": "Mesh"}
RAILS_SHOW = {
    "none": "Nowhere",
    "back": "On the side away from the finished face",
    "both": "On both sides",
}
METRIC_LABELS = {
    "extra_depth_per_ft_in": "... and deeper for each metre above",
    "less help": "Of 5 bands counted, less 1, 4 are taken.",
    "hang_foot": "Hanging a metre of fence",
    "is_movement_harmless": "13 mm at the ground does no harm",
}
REACHES = {"full_depth": "Its full depth", "above_ground": "Above the ground only"}
KINDS = {"swing": "gates that swing", "slide": "slide gates"}
SIZES = {"usual": "the usual gate post", "slide": "a slide gate's posts"}


def in_metric_words(name: str, label: str, units: str) -> str:
    """Return a figure's label, for a metric firm the one that names its units."""
    return METRIC_LABELS.get(name, label) if units == METRIC else label


def driver_words(driver: str, units: str) -> str:
    """Return what an item is counted for: each foot of fence, or each metre of it."""
    said = DRIVERS.get(driver, driver)
    return said.replace("each foot", "each metre") if units == METRIC else said


def material_limits(material: dict[str, Any]) -> str:
    """Return in words where alone a material counts: "gate post; gates of 2 leaves"."""
    words = [ROLES.get(role, role).lower() for role in material.get("roles", [])]
    words += [f"gates of {n} {'leaf' if n == 1 else 'leaves'}" for n in material.get("leaves", [])]
    words += [USES.get(use, use) for use in material.get("uses", [])]
    words += [KINDS.get(kind, kind) for kind in material.get("kinds", [])]
    words += [
        SIZES.get(size, f"the gate post {size.replace('_', ' ')}")
        for size in material.get("gate_posts", [])
    ]
    return ", ".join(words)


def material_pieces(material: dict[str, Any], units: str) -> str:
    """Return in words what one piece is: its width, length, lap and gap."""
    told = [
        (material.get("usable_ft", 0) * IN_PER_FT, "covers {}"),
        (material.get("piece_in", 0), "{} long"),
        (material.get("width_in", 0), "{} wide"),
        (material.get("overlap_in", 0), "lapped {}"),
        (material.get("gap_in", 0), "{} apart"),
    ]
    return ", ".join(words.format(short_length(length, units)) for length, words in told if length)


def material_work(material: dict[str, Any], names: Mapping[str, str], units: str) -> str:
    """Return in words how an item is cut and hung, and what it stiffens."""
    others = [names.get(item, item) for item in material.get("other_lengths", [])]
    kerf_in, section_in2 = material.get("kerf_in"), material.get("section_in2")
    told = [
        (material.get("cut"), f"cut: {_said(CUTS, material.get('cut'))}"),
        (others, f"or from {', '.join(others)}"),
        (kerf_in is not None, f"the saw takes {short_length(kerf_in or 0, units)}"),
        (material.get("offcut_serves"), "the rest of a panel may fill a shorter bay"),
        (material.get("hung"), "hung by itself"),
        (material.get("infill"), "part of the infill"),
        (material.get("reach"), f"goes down its post: {_said(REACHES, material.get('reach'))}"),
        (section_in2, f"{loads.AREA.exact(section_in2 or 0, units)} of metal"),
        (material.get("stiffens"), f"stiffens {_said(STIFFENS, material.get('stiffens'))}"),
    ]
    return "; ".join(words for is_so, words in told if is_so)


def strength_words(strength: Mapping[str, Any], units: str) -> str:
    """Return in words what is known of how strong a post is."""
    is_stiffened = strength.get("insert", "none") != "none"
    told = [
        (loads.STRESS, "bending_psi", "bending stress {}"),
        (loads.WALL, "wall_in", "wall {}"),
        (loads.STRESS, "yield_psi", "yield {}"),
        (loads.SECTION, "insert_section_in3", "its section modulus {}"),
        (loads.STRESS, "insert_yield_psi", "its yield {}"),
    ]
    figures = [
        words.format(measure.exact(strength[name], units))
        for measure, name, words in told
        if strength.get(name)
    ]
    if strength.get("size_factor", 1) != 1:
        figures.insert(1, f"size factor {strength['size_factor']:g}")
    if is_stiffened:
        figures.insert(0, f"stiffener: {_said(INSERTS, strength['insert'])}")
    incised = ["incised"] if strength.get("is_incised") else []
    kind = strength.get("material", "unrated")
    if kind == "vinyl" and not is_stiffened:
        figures.append("not rated")
    return ", ".join([MATERIALS_OF_POSTS.get(kind, kind), *figures, *incised])


def _said(words: Mapping[str, str], key: Any) -> str:
    said = words.get(key, str(key or ""))
    return said[:1].lower() + said[1:]


def longer_words(longer: dict[str, float], names: dict[str, str], units: str) -> str:
    """Return the longer ones of a post, one a line: its name, a colon, its length."""
    return "\n".join(
        f"{names.get(key, key)}: {exact_in(length, units)}" for key, length in longer.items()
    )


def rate_choices(keys: set[str]) -> list[tuple[str, str]]:
    """Return production rates in words, and first that there is none."""
    return [("", "None"), *sorted(((key, rate_label(key)) for key in keys), key=lambda one: one[1])]
