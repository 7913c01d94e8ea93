"""The parts of a measured site's form that stand above its lines: name, notes, conditions."""

from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from estimating.engine.reading_site import LONGEST_DRIVE_MIN, MOST_HOLES
from estimating.forms.measure_rows import SignedLengthField
from firm.forms.fields import LengthField, MoneyField, NumberField, PlainTextMixin, WholeNumberField
from firm.forms.quantities import MeasuredField
from firm.measure import loads
from firm.measure.written import METRIC, US
from firm.models import JobSite

NARROWEST_WAY_IN = 1.0
WIDEST_WAY_IN = 1200.0
# As the engine reads them: what is more is a slip of the unit, said at its field.
MOST_IN = {
    "frost_depth_in": 120.0,
    "local_hole_depth_in": 120.0,
    "hand_dig_tolerance_in": 120.0,
    "height_limit_front_in": 600.0,
    "height_limit_side_in": 600.0,
    "height_limit_rear_in": 600.0,
    "setback_in": 12_000.0,
    "pool_height_in": 240.0,
    "pool_gap_in": 24.0,
    "pool_latch_in": 240.0,
    "sight_leg_in": 12_000.0,
    "sight_low_in": 600.0,
    "sight_high_in": 1200.0,
}
STRONGEST_WIND_MPH = 250
# Shown apart: few sites have a pool or a corner.
POOLS_AND_CORNERS = ("pool_", "sight_")


class HeadForm(PlainTextMixin, forms.Form):
    """Name and notes, and the version that was open while they were typed."""

    use_required_attribute = False

    based_on = WholeNumberField(widget=forms.HiddenInput, min_value=0, initial=0, required=False)
    name = forms.CharField(label="Name of the site", max_length=120)
    notes = forms.CharField(
        label="Notes", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )


def _bearing(label: str) -> NumberField:
    return NumberField(
        label=label,
        help_text="Degrees from north, clockwise.",
        required=False,
        min_value=-360,
        max_value=360,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )


class ConditionsForm(PlainTextMixin, forms.Form):
    """What the place and the local rules impose."""

    use_required_attribute = False

    frost_depth_in = LengthField(label="Frost depth", is_short=True, required=False)
    local_hole_depth_in = LengthField(
        label="Hole depth by local rule", is_short=True, required=False
    )
    soil_class = forms.ChoiceField(label="Soil", choices=JobSite.Soil.choices)
    dig_method = forms.ChoiceField(label="How holes are dug", choices=JobSite.DigMethod.choices)
    access_width_in = LengthField(
        label="Narrowest place on the way in",
        help_text="A machine that is wider stays outside. Empty: nothing in the way.",
        is_short=True,
        min_in=NARROWEST_WAY_IN,
        max_in=WIDEST_WAY_IN,
        required=False,
    )
    rock_holes = WholeNumberField(
        label="Holes in solid rock",
        help_text="How many you expect; the rest is dug as above.",
        min_value=0,
        max_value=MOST_HOLES,
        required=False,
    )
    spoil = forms.ChoiceField(label="Dug-out soil", choices=JobSite.Spoil.choices)
    hand_dig_tolerance_in = LengthField(
        label="Hand-dig zone",
        help_text="Each side of a utility mark.",
        is_short=True,
        required=False,
    )
    height_limit_front_in = LengthField(
        label="Height limit, front yard", is_short=True, required=False
    )
    height_limit_side_in = LengthField(
        label="Height limit, side yard", is_short=True, required=False
    )
    height_limit_rear_in = LengthField(
        label="Height limit, rear yard", is_short=True, required=False
    )
    setback_in = LengthField(label="Setback", is_short=True, required=False)
    permit_fee = MoneyField(label="Permit fee", required=False)
    wind_speed_mph = MeasuredField(
        measure=loads.WIND_SPEED,
        label="Design wind speed ({unit})",
        help_text="The local code's, as ASCE 7 maps it since 2010. It may be left out.",
        least=1,
        most=STRONGEST_WIND_MPH,
        required=False,
    )
    exposure = forms.ChoiceField(
        label="Exposure to wind", choices=JobSite.Exposure.choices, required=False
    )
    trips = WholeNumberField(
        label="Trips",
        help_text="0: as many as the work needs.",
        min_value=0,
        max_value=60,
        required=False,
    )
    drive_min = NumberField(
        label="Minutes on the road",
        help_text="For one trip, there and back. 0: the crew's time on the road is not counted.",
        min_value=0,
        max_value=LONGEST_DRIVE_MIN,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    wet_holes = WholeNumberField(
        label="Holes that rain will fill",
        help_text="To be dug again.",
        min_value=0,
        max_value=MOST_HOLES,
        required=False,
    )
    frozen_ground = forms.BooleanField(label="The ground is frozen", required=False)
    long_barrow = forms.BooleanField(label="Concrete is wheeled over 100 ft", required=False)
    pool_barrier = forms.BooleanField(label="The fence is a pool barrier", required=False)
    pool_height_in = LengthField(
        label="Pool barrier: least height by the town", is_short=True, required=False
    )
    pool_gap_in = LengthField(
        label="Pool barrier: largest gap under it", is_short=True, required=False
    )
    pool_latch_in = LengthField(
        label="Pool gates: height of the release",
        help_text="Over the ground.",
        is_short=True,
        required=False,
    )
    pool_latch_on_pool_side = forms.BooleanField(
        label="The pool gates' release is on the pool's side", required=False
    )
    sight_leg_in = LengthField(
        label="Sight triangle, along each street",
        help_text="At a corner lot, by the town's rule.",
        is_short=True,
        required=False,
    )
    sight_low_in = LengthField(label="Sight triangle, clear from", is_short=True, required=False)
    sight_high_in = LengthField(
        label="Sight triangle, clear up to",
        help_text="0 for no upper end.",
        is_short=True,
        required=False,
    )
    sight_corner_x_in = SignedLengthField(
        label="Streets meet, to the east",
        help_text="Where the lines meet from which the town measures. Empty where the lot is no "
        "corner.",
        is_short=True,
        required=False,
    )
    sight_corner_y_in = SignedLengthField(
        label="Streets meet, to the north", is_short=True, required=False
    )
    sight_first_bearing_deg = _bearing("One street leads to")
    sight_second_bearing_deg = _bearing("The other street leads to")

    def __init__(self, *args: Any, units: str = US, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, each in self.fields.items():
            if isinstance(each, LengthField):
                each.units = units
                each.max_in = MOST_IN.get(name, each.max_in)
        if units == METRIC:
            self.fields["long_barrow"].label = "Concrete is wheeled over 30 m"

    @property
    def of_every_site(self) -> list[BoundField]:
        """What every site is asked."""
        return [field for field in self if not field.name.startswith(POOLS_AND_CORNERS)]

    @property
    def of_pools_and_corners(self) -> list[BoundField]:
        """What sites with a pool or at a corner are asked."""
        return [field for field in self if field.name.startswith(POOLS_AND_CORNERS)]

    @property
    def has_pool_or_corner(self) -> bool:
        """Whether anything of the second part is in use, or needs another look."""
        return bool(
            self["pool_barrier"].value()
            or self["sight_corner_x_in"].value() not in (None, "")
            or any(field.errors for field in self.of_pools_and_corners)
        )

    def values(self) -> dict[str, Any]:
        """Return the conditions as the document keeps them, without what was left empty."""
        values = {
            name: value
            for name, value in self.cleaned_data.items()
            if value is not None and value != ""
        }
        if "permit_fee" in values:
            values["permit_fee"] = f"{values['permit_fee']:.2f}"
        return values
