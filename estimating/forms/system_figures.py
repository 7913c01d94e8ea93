"""The figures of a fence system that its page asks for: where each is kept and how it is typed."""

from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields
from typing import Any

from django import forms

from estimating.engine.catalog import (
    FenceSystem,
    GateHardware,
    HoleRule,
    Material,
    PostProduct,
    WindFigures,
)
from estimating.engine.reading_catalog import NARROWEST_SPACING_IN
from estimating.engine.wind import Screen
from estimating.selectors import system_words as words
from firm.forms.fields import FenceLengthField, LengthField, NumberField

Step = str | int
Path = tuple[Step, ...]
LEAST_IN = 1 / 16
KINDS: Mapping[str, tuple[type, ...]] = {
    "": (FenceSystem,),
    "hole": (HoleRule,),
    "gate": (GateHardware,),
    "wind": (WindFigures, Screen),
    "posts": (PostProduct,),
    "materials": (Material,),
}


class BelowField(LengthField):
    """A length below the ground that is kept as a height: 3 in below is kept as -3."""

    def prepare_value(self, value: Any) -> Any:
        """Show what lies below as a plain length, what lies above behind a minus sign."""
        if not isinstance(value, int | float):
            return value
        text = self.written(abs(value))
        return text if value <= 0 else f"-{text}"

    def clean(self, value: Any) -> Any:
        """Return inches above the ground."""
        text = str(value or "").strip().replace("\u2212", "-")
        inches = super().clean(text.removeprefix("-"))
        if inches is None or text.startswith("-"):
            return inches
        return -inches


@dataclass(frozen=True, kw_only=True, slots=True)
class Figure:
    """One figure: its name in the definition, its label, and what makes its field."""

    name: str
    label: str
    make: Callable[..., forms.Field]
    help: str = ""
    blank: str = ""  # what an empty field means; without it the figure must be there


@dataclass(frozen=True, kw_only=True, slots=True)
class Section:
    """Figures that stand together, in the part of the definition they are kept in."""

    part: str
    title: str
    help: str
    figures: tuple[Figure, ...]


def _length(high: float, *, low: float = 0.0) -> Callable[..., forms.Field]:
    def make(**kwargs: Any) -> forms.Field:
        return LengthField(is_short=True, min_in=low, max_in=high, **kwargs)

    return make


def _feet(**kwargs: Any) -> forms.Field:
    return FenceLengthField(min_in=LEAST_IN, max_in=12_000.0, **kwargs)


def _number(high: float, *, low: float = 0.0) -> Callable[..., forms.Field]:
    def make(**kwargs: Any) -> forms.Field:
        widget = forms.TextInput(attrs={"inputmode": "decimal"})
        return NumberField(min_value=low, max_value=high, widget=widget, **kwargs)

    return make


def _choice(choices: Mapping[str, str]) -> Callable[..., forms.Field]:
    def make(**kwargs: Any) -> forms.Field:
        shown = list(choices.items())
        return forms.ChoiceField(
            choices=shown if kwargs["required"] else [("", "-"), *shown], **kwargs
        )

    return make


def _yes_no(**kwargs: Any) -> forms.Field:
    return forms.TypedChoiceField(
        choices=[(True, "Yes"), (False, "No")],
        coerce=lambda value: value == "True",
        empty_value=None,
        **kwargs,
    )


def _below(**kwargs: Any) -> forms.Field:
    return BelowField(is_short=True, max_in=48, **kwargs)


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
            Figure(name="height_in", label="Height", make=_length(600, low=LEAST_IN)),
            Figure(name="ground_gap_in", label="Gap under the fence", make=_length(24)),
            Figure(
                name="max_on_centre_in",
                label="Posts apart at most",
                make=_length(600, low=NARROWEST_SPACING_IN),
                help="From middle to middle of two posts.",
            ),
            Figure(
                name="min_clear_in",
                label="Narrowest bay",
                make=_length(600),
                help="Between the faces of two posts.",
            ),
            Figure(name="division", label="How bays are divided", make=_choice(words.DIVISIONS)),
            Figure(name="spacing", label="Spacing is measured", make=_choice(words.SPACINGS)),
            Figure(name="family", label="What it is", make=_choice(words.FAMILIES)),
            Figure(name="setting", label="How posts are set", make=_choice(words.SETTINGS)),
            Figure(
                name="pull_every_in",
                label="A pull post every",
                make=_length(1e6, low=NARROWEST_SPACING_IN),
                blank="no pull posts between ends",
            ),
        ),
    ),
    Section(
        part="",
        title="Rails and slope",
        help="",
        figures=(
            Figure(name="rails", label="Rails", make=_choice(words.RAILS)),
            Figure(
                name="max_rack_in",
                label="A bay racks by at most",
                make=_length(120),
                help="The rise of the ground over one bay that it follows. 0: it steps.",
            ),
            Figure(name="largest_gap_in", label="Largest gap under a level bay", make=_length(120)),
            Figure(
                name="height_tolerance_in",
                label="A level bay stands higher by at most",
                make=_length(120),
            ),
            Figure(
                name="ease_in",
                label="A straight string misses the ground by at most",
                make=_length(24),
            ),
            Figure(name="rail_insertion_in", label="Rail inside each post", make=_length(12)),
            Figure(
                name="rail_sags_over_in",
                label="A bottom rail sags when longer than",
                make=_length(600),
                help="Without a stiffener. 0: it does not.",
            ),
        ),
    ),
    Section(
        part="hole",
        title="Holes",
        help="Frost and the local rule may ask for more; the deepest of all counts.",
        figures=(
            Figure(name="times_width", label="Hole, in widths of its post", make=_number(20)),
            Figure(name="times_width_up_to_in", label="... up to a post of", make=_length(48)),
            Figure(name="times_width_above", label="... of a wider post", make=_number(20)),
            Figure(name="base_depth_in", label="At least this deep", make=_length(240)),
            Figure(name="base_height_in", label="... up to a fence of", make=_length(600)),
            Figure(
                name="extra_depth_per_ft_in",
                label="... and deeper for each foot above",
                make=_length(48),
            ),
            Figure(name="gate_extra_depth_in", label="Deeper beside a gate by", make=_length(120)),
            Figure(
                name="concrete_top_in",
                label="Concrete stops under grade by",
                make=_below,
                help="Behind a minus sign where it stands above the ground.",
            ),
            Figure(name="gravel_in", label="Gravel at the bottom", make=_length(48)),
            Figure(
                name="bell_diameter_in",
                label="Bell at the bottom, across",
                make=_length(120),
                help="0: straight sides.",
            ),
            Figure(name="bell_height_in", label="Height of the bell", make=_length(120)),
        ),
    ),
    Section(
        part="gate",
        title="Gates",
        help="A leaf is the clear opening less its gaps.",
        figures=(
            Figure(name="hinge_gap_in", label="Gap at the hinges", make=_length(24)),
            Figure(name="latch_gap_in", label="Gap at the latch", make=_length(24)),
            Figure(name="centre_gap_in", label="Gap between two leaves", make=_length(24)),
            Figure(name="largest_leaf_in", label="Widest leaf", make=_length(600, low=LEAST_IN)),
            Figure(
                name="usual_post_up_to_leaf_in",
                label="Usual gate post up to a leaf of",
                make=_length(600, low=LEAST_IN),
                blank="any width",
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
                make=_number(1, low=0.001),
                help="1 for a closed fence, 0.5 where half is open.",
                blank="not judged",
            ),
            Figure(
                name="members", label="Its pieces are", make=_choice(words.MEMBERS), blank="flat"
            ),
            Figure(name="member_in", label="Across one piece", make=_length(48), blank="not known"),
            Figure(
                name="leaf_lb_ft2",
                label="A gate's leaf weighs, lb a square foot",
                make=_number(100),
                blank="not known",
            ),
            Figure(
                name="is_movement_harmless",
                label="Half an inch at the ground does no harm",
                make=_yes_no,
                blank="no",
            ),
        ),
    ),
)
POST_FIGURES = (
    Figure(name="width_in", label="Width", make=_length(48, low=LEAST_IN), blank="-"),
    Figure(name="length_in", label="Length", make=_length(600, low=LEAST_IN), blank="-"),
    Figure(
        name="hole_diameter_in",
        label="Hole across",
        make=_length(120, low=LEAST_IN),
        blank="by its width",
    ),
    Figure(name="least_depth_in", label="Depth it asks for", make=_length(240), blank="none"),
)
MATERIAL_FIGURES = (
    Figure(name="usable_ft", label="One piece covers", make=_feet, blank="-"),
    Figure(name="piece_in", label="Cut to pieces of", make=_length(1200), blank="-"),
    Figure(name="width_in", label="Width of one", make=_length(120), blank="-"),
    Figure(name="overlap_in", label="Lapped by", make=_length(120), blank="-"),
    Figure(name="gap_in", label="Gap between", make=_length(120), blank="-"),
)
QUANTITY = Figure(name="quantity", label="How many", make=_number(1e6), blank="1")
