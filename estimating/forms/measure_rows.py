"""The forms of one measured line: its head, legs, coordinates, gates, ground shots and strips."""

from typing import Any, ClassVar

from django import forms
from django.forms.utils import ErrorDict

from estimating.engine.reading_site import LONGEST_LEG_IN
from firm.forms.fields import LengthField, NumberField, PlainTextMixin, WholeNumberField
from firm.measure.lengths import LONGEST_IN
from firm.measure.written import US

FAR_IN = LONGEST_IN

SCOPES = (
    ("whole_fence", "Whole fence"),
    ("posts_only", "Posts only"),
    ("removal", "Removal of an old fence"),
)
YARDS = (("rear", "Rear yard"), ("side", "Side yard"), ("front", "Front yard"))
FACES = (("left", "Left of the line"), ("right", "Right of the line"))
TAPED = (("level", "Tape held level"), ("along_grade", "Tape laid along the ground"))
DIVISIONS = (
    ("", "As its fence system says"),
    ("equal", "All bays alike"),
    ("full_and_short", "Full bays, the rest in a short one"),
)
END_KINDS = (
    ("post", "New end post"),
    ("wall", "Wall, no post"),
    ("existing_post", "Post that stands already"),
    ("shared_post", "Post of another line"),
)
MEASURED_AT = (
    ("post_centre", "Centre of the post"),
    ("inner_face", "Face towards the fence"),
    ("outer_face", "Face away from the fence"),
    ("wall_face", "Face of the wall"),
)
KINDS = (("swing", "Swings"), ("slide", "Slides"))
LEAVES = (("1", "1 leaf"), ("2", "2 leaves"))
USES = (
    ("walk", "Walk"),
    ("mower", "Mower"),
    ("drive", "Drive"),
    ("pool", "Pool"),
    ("livestock", "Livestock"),
)
HINGES = (
    ("start", "Near side"),
    ("end", "Far side"),
    ("both", "Both sides"),
)
FOLLOWS = (
    ("racked", "Racks with the ground"),
    ("stepped", "Level, at its higher post's ground"),
    ("level", "Level, at the best height"),
)
FIXED_KINDS = (
    ("tree", "Tree"),
    ("drain", "Drain"),
    ("existing_post", "Post that stands already"),
    ("other", "Something else"),
)
SWINGS = (("left", "To the left"), ("right", "To the right"))


class SignedLengthField(LengthField):
    """A length that may lie below or behind its zero: a minus sign may stand before it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min_in=None, max_in=FAR_IN, **kwargs)

    def typed_figure(self, value: Any) -> Any:
        """Return inches, negative behind a minus sign."""
        text = str(value or "").strip().replace("\u2212", "-")
        if not text.startswith("-"):
            return super().typed_figure(value)
        inches = super().typed_figure(text[1:])
        return None if inches is None else -inches


class RowForm(PlainTextMixin, forms.Form):
    """Fields named as in the document; a row in which none of `typed` is filled is no row."""

    use_required_attribute = False
    typed: ClassVar[tuple[str, ...]] = ()

    def __init__(self, *args: Any, units: str = US, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, LengthField):
                field.units = units
        for name, value in self.initial.items():
            if isinstance(value, float) and isinstance(self.fields.get(name), NumberField):
                self.initial[name] = f"{value:g}"

    @property
    def is_blank(self) -> bool:
        """Whether nothing was typed into this row."""
        sent = [self.data.get(self.add_prefix(name), "") for name in self.typed]
        return bool(self.typed) and not any(text.strip() for text in sent)

    def full_clean(self) -> None:
        """Check the row, unless it is blank: a row left empty is nobody's mistake."""
        if self.is_bound and self.is_blank:
            self._errors = ErrorDict()
            self.cleaned_data = {}
            return
        super().full_clean()

    def values(self) -> dict[str, Any]:
        """Return this row as the document keeps it."""
        values = {}
        for name, value in self.cleaned_data.items():
            field = self.fields[name]
            if isinstance(field, forms.ChoiceField) and value == "":
                values[name] = field.initial
            elif value is not None:
                values[name] = value
        return values


def _choice(choices: tuple[tuple[str, str], ...], label: str) -> forms.ChoiceField:
    """Return a choice that starts on its first entry, and falls back to it where left out."""
    return forms.ChoiceField(label=label, choices=choices, initial=choices[0][0], required=False)


def _degrees(label: str, *, initial: float | None = None, largest: float = 360) -> NumberField:
    return NumberField(
        label=label,
        required=False,
        initial=initial,
        min_value=-largest,
        max_value=largest,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


class LegForm(RowForm):
    """One straight stretch."""

    typed = ("length_in", "turn_deg")

    length_in = LengthField(label="Length", max_in=LONGEST_LEG_IN)
    turn_deg = _degrees("Turn at its start, °", largest=180)

    def values(self) -> dict[str, Any]:
        """Return the leg; no turn typed is no turn."""
        return {"turn_deg": 0.0, **super().values()}


class PointForm(RowForm):
    """One corner by its coordinates."""

    typed = ("x_in", "y_in")

    x_in = SignedLengthField(label="East")
    y_in = SignedLengthField(label="North")


class GateForm(RowForm):
    """One gate by its clear opening."""

    typed = ("station_in", "clear_opening_in")

    id = forms.CharField(label="Mark", max_length=10, required=False)
    station_in = LengthField(label="Opening begins at", max_in=FAR_IN)
    clear_opening_in = LengthField(label="Clear opening", max_in=LONGEST_LEG_IN, is_short=True)
    kind = _choice(KINDS, "Opens how")
    leaves = _choice(LEAVES, "Leaves")
    first_leaf_in = LengthField(
        label="Near leaf, if the two differ", max_in=LONGEST_LEG_IN, is_short=True, required=False
    )
    use = _choice(USES, "Use")
    hinge_side = _choice(HINGES, "Hinges or rollers")
    swing = _choice(SWINGS, "Swings or runs")
    latch = forms.CharField(label="Latch", max_length=40, initial="standard", required=False)

    def clean_hinge_side(self) -> str:
        """Hang two leaves on both sides whatever else was left standing there."""
        if self.cleaned_data.get("leaves") == "2":
            return "both"
        return self.cleaned_data.get("hinge_side") or "start"

    def clean(self) -> dict[str, Any]:
        """Refuse what goes with no slide gate, or with no pair of leaves."""
        values = super().clean() or self.cleaned_data
        if values.get("kind") == "slide" and values.get("leaves") == "2":
            self.add_error("leaves", "A slide gate has one leaf.")
        elif values.get("kind") == "slide" and values.get("hinge_side") == "both":
            self.add_error("hinge_side", "Its rollers stand on the near or on the far side.")
        if values.get("first_leaf_in") is not None and values.get("leaves") != "2":
            self.add_error("first_leaf_in", "Only of two leaves can one differ.")
        return values

    def values(self) -> dict[str, Any]:
        """Return the gate, its leaves as a number; what was left empty stays out."""
        values = super().values()
        values["leaves"] = int(values["leaves"])
        return {name: value for name, value in values.items() if value != ""}


class GroundForm(RowForm):
    """The ground's height at a station."""

    typed = ("station_in", "elevation_in")

    station_in = LengthField(label="At", max_in=FAR_IN)
    elevation_in = SignedLengthField(label="Height of the ground", is_short=True)


class BayPinForm(RowForm):
    """What the office decides for one bay on its ground."""

    typed = ("station_in",)

    station_in = LengthField(label="Bay over", max_in=FAR_IN)
    follows = _choice(FOLLOWS, "Stands")


class NoDigForm(RowForm):
    """A utility mark that crosses the line."""

    typed = ("station_in", "facility_width_in", "utility")

    station_in = LengthField(label="Crosses at", max_in=FAR_IN)
    facility_width_in = LengthField(label="Width of the line or pipe", max_in=1200.0, is_short=True)
    crossing_deg = _degrees("Angle to the fence, °", initial=90, largest=90)
    utility = forms.CharField(label="What it is", max_length=60, required=False)
    hand_dig = forms.BooleanField(label="Posts may stand here, dug by hand", required=False)

    def values(self) -> dict[str, Any]:
        """Return the strip; no angle typed is a square crossing."""
        return {"crossing_deg": 90.0, **super().values()}


class FixedPointForm(RowForm):
    """What stands in the line already."""

    typed = ("station_in", "width_in", "keep_clear_in", "note")

    station_in = LengthField(label="Its middle at", max_in=FAR_IN)
    kind = _choice(FIXED_KINDS, "What it is")
    width_in = LengthField(
        label="Width along the line", max_in=1200.0, is_short=True, required=False
    )
    keep_clear_in = LengthField(
        label="No hole nearer than", max_in=1200.0, is_short=True, required=False
    )
    use = forms.BooleanField(label="The fence hangs on this post", required=False)
    note = forms.CharField(label="Called", max_length=60, required=False)

    def clean(self) -> dict[str, Any]:
        """Refuse to hang a fence on what is no post."""
        values = super().clean() or {}
        if values.get("use") and values.get("kind") != "existing_post":
            self.add_error("use", "Only a post that stands already can carry the fence.")
        return values


RAILS = (("yes", "Stiffened as the fence has it"), ("no", "Without the metal stiffener"))


class LineForm(RowForm):
    """What holds for a whole line."""

    id = forms.CharField(max_length=20, widget=forms.HiddenInput, required=False)
    name = forms.CharField(label="Name", max_length=60, required=False)
    system = forms.ChoiceField(label="Fence", choices=())
    scope = _choice(SCOPES, "Scope")
    old_footings = WholeNumberField(
        label="Old footings to dig out",
        help_text="Only where an old fence is removed.",
        min_value=0,
        max_value=1000,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    yard = _choice(YARDS, "Yard")
    finished_face = _choice(FACES, "Finished face")
    taped = _choice(TAPED, "Taped how")
    division = _choice(DIVISIONS, "Bays")
    rail_stiffener = _choice(RAILS, "Bottom rails")
    start_kind = _choice(END_KINDS, "Starts with")
    start_measured_at = _choice(MEASURED_AT, "Tape held to")
    start_shared_line = forms.CharField(label="Other line", max_length=20, required=False)
    start_shared_at = forms.CharField(label="Where on it", max_length=12, required=False)
    end_kind = _choice(END_KINDS, "Ends with")
    end_measured_at = _choice(MEASURED_AT, "Tape held to")
    end_shared_line = forms.CharField(label="Other line", max_length=20, required=False)
    end_shared_at = forms.CharField(label="Where on it", max_length=12, required=False)
    closed = forms.BooleanField(
        label="Closed loop: the last leg ends where the first begins", required=False
    )
    start_x_in = SignedLengthField(label="Start, east of the plan's zero", required=False)
    start_y_in = SignedLengthField(label="Start, north of it", required=False)
    bearing_deg = _degrees("Heading of the first leg, ° from north")

    def __init__(self, *args: Any, systems: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.initial.get("rail_stiffener") in (True, False):
            self.initial["rail_stiffener"] = "yes" if self.initial["rail_stiffener"] else "no"
        system = self.fields["system"]
        assert isinstance(system, forms.ChoiceField)  # noqa: S101 - tells the type checker
        system.choices = [("", "Choose a fence"), *systems]

    def values(self) -> dict[str, Any]:
        """Return the line without its rows; ends as the document nests them."""
        flat = super().values()
        # A rail gets its stiffener unless the document says otherwise.
        if flat.pop("rail_stiffener", "yes") == "no":
            flat["rail_stiffener"] = False
        for end in ("start", "end"):
            flat[end] = {
                name: value
                for name in ("kind", "measured_at", "shared_line", "shared_at")
                if (value := flat.pop(f"{end}_{name}", ""))
            }
        return {name: value for name, value in flat.items() if value != ""}
