"""The form for a jurisdiction: its rules for fences and for locate tickets."""

from typing import Any, ClassVar

from django import forms

from firm.forms.fields import (
    LengthField,
    MoneyField,
    PlainTextMixin,
    WholeNumberField,
    written_numbers,
)
from firm.models import Jurisdiction

HIGHEST_FENCE = 240.0
DEEPEST_HOLE = 120.0


class JurisdictionForm(PlainTextMixin, forms.ModelForm[Jurisdiction]):
    """What a town or county asks of a fence."""

    frost_depth_in = LengthField(
        label="Frost depth",
        max_in=DEEPEST_HOLE,
        is_short=True,
        help_text="Such as 30 in; 0 where it never freezes.",
        metric_help_text="Such as 75 cm; 0 where it never freezes.",
    )
    hole_depth_in = LengthField(
        label="Hole depth the code asks for",
        initial=0.0,
        max_in=DEEPEST_HOLE,
        is_short=True,
        help_text="0 where it names none.",
    )
    height_limit_front_in = LengthField(
        label="Highest fence in front", required=False, max_in=HIGHEST_FENCE, is_short=True
    )
    height_limit_side_in = LengthField(
        label="Highest fence at the side", required=False, max_in=HIGHEST_FENCE, is_short=True
    )
    height_limit_rear_in = LengthField(
        label="Highest fence at the rear", required=False, max_in=HIGHEST_FENCE, is_short=True
    )
    setback_in = LengthField(
        label="Setback from the line",
        initial=0.0,
        max_in=1200.0,
        is_short=True,
        help_text="0 where none is asked for.",
    )
    permit_fee = MoneyField(label="Permit fee")
    hand_dig_tolerance_in = LengthField(
        label="Dig by hand within",
        initial=24.0,
        max_in=120.0,
        is_short=True,
        help_text="On each side of a mark. Common is 18 to 24 in: your state's law decides.",
        metric_help_text="On each side of a mark. Common is 45 to 60 cm: your law decides.",
    )
    pool_height_in = LengthField(
        label="Lowest pool barrier",
        required=False,
        max_in=HIGHEST_FENCE,
        is_short=True,
        help_text="Measured outside. Left empty, 48 in is taken, and 60 in is asked about.",
        metric_help_text="Measured outside. Left empty, 1.22 m is taken, and 1.52 m asked about.",
    )
    pool_gap_in = LengthField(
        label="Largest gap under a pool barrier",
        required=False,
        max_in=24.0,
        is_short=True,
        help_text="Over soil. Left empty, 2 in is taken.",
        metric_help_text="Over soil. Left empty, 5 cm is taken.",
    )
    sight_leg_in = LengthField(
        label="Sight triangle at corners",
        required=False,
        max_in=12_000.0,
        is_short=True,
        help_text="How far it reaches along each street; from which line, write in the notes.",
    )
    sight_low_in = LengthField(
        label="It stays clear from", initial=36.0, max_in=HIGHEST_FENCE, is_short=True
    )
    sight_high_in = LengthField(
        label="It stays clear up to",
        initial=0.0,
        max_in=HIGHEST_FENCE,
        is_short=True,
        help_text="0 for no upper end.",
    )
    locate_life_kind = forms.ChoiceField(
        label="The life is counted in",
        choices=[
            (kind.value, kind.label)
            for kind in (Jurisdiction.DayKind.CALENDAR, Jurisdiction.DayKind.WORKING)
        ],
    )

    class Meta:
        model = Jurisdiction
        formfield_callback = written_numbers
        fields = (
            "name",
            "frost_depth_in",
            "hole_depth_in",
            "setback_in",
            "height_limit_front_in",
            "height_limit_side_in",
            "height_limit_rear_in",
            "permit_required",
            "permit_fee",
            "inspections",
            "hand_dig_tolerance_in",
            "pool_height_in",
            "pool_gap_in",
            "sight_leg_in",
            "sight_low_in",
            "sight_high_in",
            "locate_notice",
            "locate_day_kind",
            "locate_earliest_call_days",
            "locate_life_days",
            "locate_life_kind",
            "locate_count_from",
            "locate_renew_days_before",
            "notes",
        )
        labels: ClassVar = {
            "name": "Town or county",
            "permit_required": "A fence needs a permit",
            "inspections": "Inspections",
            "locate_notice": "Notice before digging",
            "locate_day_kind": "The notice is counted in",
            "locate_earliest_call_days": "Days ahead a call counts at most",
            "locate_life_days": "A ticket lives (days)",
            "locate_count_from": "Its life begins",
            "locate_renew_days_before": "Renew this many days before it ends",
        }
        help_texts: ClassVar = {
            "inspections": "Which, and when: footing before concrete, final.",
            "locate_notice": "Days or hours; the day of the call is not counted.",
        }
        widgets: ClassVar = {
            "inspections": forms.Textarea(attrs={"rows": 2}),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }

    PARTS: ClassVar = (
        (
            "Place",
            "One entry for each town or county you build in.",
            ("name",),
        ),
        (
            "Holes and heights",
            "Taken into every estimate here. Ask the building department, and note who said so.",
            (
                "frost_depth_in",
                "hole_depth_in",
                "setback_in",
                "height_limit_front_in",
                "height_limit_side_in",
                "height_limit_rear_in",
            ),
        ),
        (
            "Pools and corners",
            "Measured sites here are checked against these; a building official decides.",
            ("pool_height_in", "pool_gap_in", "sight_leg_in", "sight_low_in", "sight_high_in"),
        ),
        (
            "Permit",
            "What it takes and what it costs.",
            ("permit_required", "permit_fee", "inspections"),
        ),
        (
            "Locate ticket",
            "How your one-call centre counts. The dates on the ticket itself always rule.",
            (
                "locate_notice",
                "locate_day_kind",
                "locate_earliest_call_days",
                "locate_life_days",
                "locate_life_kind",
                "locate_count_from",
                "locate_renew_days_before",
                "hand_dig_tolerance_in",
            ),
        ),
        ("Notes", "Where the figures come from.", ("notes",)),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, lowest, highest in (
            ("locate_notice", 0, 336),
            ("locate_earliest_call_days", 1, 365),
            ("locate_life_days", 1, 365),
            ("locate_renew_days_before", 0, 60),
        ):
            self.fields[name] = WholeNumberField(
                label=self.fields[name].label,
                help_text=self.fields[name].help_text,
                initial=self.fields[name].initial,
                min_value=lowest,
                max_value=highest,
            )

    def clean(self) -> dict[str, Any] | None:
        """Refuse a ticket that would have to be renewed before it begins."""
        cleaned = super().clean()
        life = self.cleaned_data.get("locate_life_days")
        renew = self.cleaned_data.get("locate_renew_days_before")
        if life is not None and renew is not None and renew >= life:
            self.add_error(
                "locate_renew_days_before", f"This must be less than its life of {life} days."
            )
        return cleaned

    def parts(self) -> list[tuple[str, str, list[forms.BoundField]]]:
        """Return the parts of the form with their fields, for the template."""
        return [
            (title, intro, [self[name] for name in names]) for title, intro, names in self.PARTS
        ]
