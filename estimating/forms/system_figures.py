"""The figures of a fence system that its page asks for: where each is kept and how it is typed."""

from collections.abc import Mapping
from dataclasses import MISSING, fields
from typing import Any

from estimating.engine.catalog import (
    FenceSystem,
    GateHardware,
    GatePost,
    HoleRule,
    Material,
    PostProduct,
    SlideGate,
    WindFigures,
)
from estimating.engine.pool import Barrier
from estimating.engine.post_strength import PostStrength
from estimating.engine.reading_catalog import NARROWEST_SPACING_IN
from estimating.engine.reading_pool import LARGEST_IN
from estimating.engine.wind import Screen
from estimating.forms.figure_fields import (
    LEAST_IN,
    Figure,
    Section,
    below,
    choice_of,
    flag,
    length_of,
    measured,
    number_of,
    per_foot_of,
)
from estimating.selectors import system_words as words
from firm.measure import loads

Step = str | int
Path = tuple[Step, ...]
KINDS: Mapping[str, tuple[type, ...]] = {
    "": (FenceSystem,),
    "hole": (HoleRule,),
    "gate": (GateHardware,),
    "gate-slide": (SlideGate,),
    "gate-heavier_posts": (GatePost,),
    "strength": (PostStrength,),
    "wind": (WindFigures, Screen),
    "barrier": (Barrier,),
    "posts": (PostProduct,),
    "materials": (Material,),
}


def default_of(part: str, name: str) -> Any:
    """Return what the engine takes where a figure is left out, None where it has no such."""
    for kind in KINDS[part]:
        for each in fields(kind):
            if each.name == name:
                return None if each.default is MISSING else each.default
    raise KeyError(name)


SECTIONS = (
    Section(
        part="",
        title="Fence and spacing",
        help="",
        figures=(
            Figure(name="height_in", label="Height", make=length_of(600, low=LEAST_IN)),
            Figure(name="ground_gap_in", label="Gap under the fence", make=length_of(24)),
            Figure(
                name="max_on_centre_in",
                label="Posts apart at most",
                make=length_of(600, low=NARROWEST_SPACING_IN),
                help="From middle to middle of two posts.",
            ),
            Figure(
                name="min_clear_in",
                label="Narrowest bay",
                make=length_of(600),
                help="Between the faces of two posts.",
            ),
            Figure(name="division", label="How bays are divided", make=choice_of(words.DIVISIONS)),
            Figure(name="spacing", label="Spacing is measured", make=choice_of(words.SPACINGS)),
            Figure(name="family", label="What it is", make=choice_of(words.FAMILIES)),
            Figure(name="setting", label="How posts are set", make=choice_of(words.SETTINGS)),
            Figure(
                name="pull_every_in",
                label="A pull post every",
                make=length_of(1e6, low=NARROWEST_SPACING_IN),
                blank="no pull posts between ends",
            ),
        ),
    ),
    Section(
        part="",
        title="Rails and slope",
        help="",
        figures=(
            Figure(name="rails", label="Rails", make=choice_of(words.RAILS)),
            Figure(
                name="max_rack_in",
                label="A bay racks by at most",
                make=length_of(120),
                help="The rise of the ground over one bay that it follows. 0: it steps.",
            ),
            Figure(
                name="largest_gap_in", label="Largest gap under a level bay", make=length_of(120)
            ),
            Figure(
                name="height_tolerance_in",
                label="A level bay stands higher by at most",
                make=length_of(120),
            ),
            Figure(
                name="ease_in",
                label="A straight string misses the ground by at most",
                make=length_of(24),
            ),
            Figure(name="rail_insertion_in", label="Rail inside each post", make=length_of(12)),
            Figure(
                name="rail_sags_over_in",
                label="A bottom rail sags when longer than",
                make=length_of(600),
                help="Without a stiffener. 0: it does not.",
            ),
            Figure(
                name="board_coverage_in",
                label="A board covers",
                make=length_of(120),
                help="0: no boards side by side between channels.",
            ),
            Figure(name="channel_allowance_in", label="Both channels together", make=length_of(12)),
            Figure(
                name="corner_turn_deg",
                label="A corner post from a turn of, degrees",
                make=number_of(90),
            ),
        ),
    ),
    Section(
        part="hole",
        title="Holes",
        help="Frost and the local rule may ask for more; the deepest of all counts.",
        figures=(
            Figure(name="times_width", label="Hole, in widths of its post", make=number_of(20)),
            Figure(name="times_width_up_to_in", label="... up to a post of", make=length_of(48)),
            Figure(name="times_width_above", label="... of a wider post", make=number_of(20)),
            Figure(name="base_depth_in", label="At least this deep", make=length_of(240)),
            Figure(name="base_height_in", label="... up to a fence of", make=length_of(600)),
            Figure(
                name="extra_depth_per_ft_in",
                label="... and deeper for each foot above",
                make=per_foot_of(48),
            ),
            Figure(
                name="gate_extra_depth_in", label="Deeper beside a gate by", make=length_of(120)
            ),
            Figure(
                name="concrete_top_in",
                label="Concrete stops under grade by",
                make=below,
                help="Behind a minus sign where it stands above the ground.",
            ),
            Figure(name="gravel_in", label="Gravel at the bottom", make=length_of(48)),
            Figure(
                name="bell_diameter_in",
                label="Bell at the bottom, across",
                make=length_of(120),
                help="0: straight sides.",
            ),
            Figure(name="bell_height_in", label="Height of the bell", make=length_of(120)),
        ),
    ),
    Section(
        part="gate",
        title="Gates",
        help="A leaf is the clear opening less its gaps.",
        figures=(
            Figure(name="hinge_gap_in", label="Gap at the hinges", make=length_of(24)),
            Figure(name="latch_gap_in", label="Gap at the latch", make=length_of(24)),
            Figure(name="centre_gap_in", label="Gap between two leaves", make=length_of(24)),
            Figure(name="largest_leaf_in", label="Widest leaf", make=length_of(600, low=LEAST_IN)),
            Figure(
                name="usual_post_up_to_leaf_in",
                label="Usual gate post up to a leaf of",
                make=length_of(600, low=LEAST_IN),
                blank="any width",
            ),
            Figure(
                name="usual_post_up_to_leaf_lb",
                label="... and up to a weight of, {unit}",
                make=measured(loads.WEIGHT, 10_000, low=0.1),
                blank="any weight",
            ),
            Figure(
                name="third_hinge_over_height_in",
                label="A third hinge over a height of",
                make=length_of(600),
                blank="at no height",
            ),
            Figure(
                name="third_hinge_over_leaf_in",
                label="... over a leaf of",
                make=length_of(600),
                blank="at no width",
            ),
            Figure(
                name="third_hinge_over_leaf_lb",
                label="... over a weight of, {unit}",
                make=measured(loads.WEIGHT, 10_000),
                blank="at no weight",
            ),
        ),
    ),
    Section(
        part="gate-slide",
        title="Slide gate",
        help="Its leaf is the opening, what laps the latch post, and the tail that balances it.",
        figures=(
            Figure(
                name="tail_pct",
                label="Tail, per cent of the opening",
                make=number_of(200, low=0.1),
                blank="-",
            ),
            Figure(
                name="overlap_in", label="Laps the latch post by", make=length_of(48), blank="-"
            ),
            Figure(
                name="tail_grip_in",
                label="Tail past the second rollers, closed",
                make=length_of(120),
                blank="-",
            ),
            Figure(
                name="largest_opening_in",
                label="Widest opening",
                make=length_of(1200, low=LEAST_IN),
                blank="-",
            ),
            Figure(
                name="largest_rise_in",
                label="Ground may rise along its way by",
                make=length_of(120),
                blank="-",
            ),
        ),
    ),
    Section(
        part="wind",
        title="Posts against wind",
        help="Advice by comparison for the office, no engineered design. Without the part that is "
        "solid, posts are not judged.",
        figures=(
            Figure(
                name="solidity",
                label="Part of the infill that is solid",
                make=number_of(1, low=0.001),
                help="1 for a closed fence, 0.5 where half is open.",
                blank="not judged",
            ),
            Figure(
                name="members", label="Its pieces are", make=choice_of(words.MEMBERS), blank="flat"
            ),
            Figure(
                name="member_in", label="Across one piece", make=length_of(48), blank="not known"
            ),
            Figure(
                name="leaf_lb_ft2",
                label="A gate's leaf weighs, {unit}",
                make=measured(loads.WEIGHT_OF_AREA, 100),
                blank="not known",
            ),
            Figure(
                name="is_movement_harmless",
                label="Half an inch at the ground does no harm",
                make=flag,
            ),
        ),
    ),
    Section(
        part="barrier",
        title="As a pool barrier",
        help="What a child's hands and feet meet. Without a kind of infill it is not judged.",
        figures=(
            Figure(
                name="infill",
                label="Its infill is",
                make=choice_of(words.INFILLS),
                blank="not judged",
            ),
            Figure(
                name="opening_in",
                label="Clear opening",
                make=length_of(LARGEST_IN),
                help="Between boards, pickets or wires.",
                blank="none",
            ),
            Figure(
                name="rails_apart_in",
                label="Tops of neighbouring rails apart",
                make=length_of(LARGEST_IN),
                blank="no foot finds a rail",
            ),
            Figure(
                name="rails_show",
                label="A foot finds rails",
                make=choice_of(words.RAILS_SHOW),
                blank="nowhere",
            ),
        ),
    ),
)
