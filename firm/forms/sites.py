"""The form for a job site."""

from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from firm.forms.fields import LengthField, PlainTextMixin
from firm.forms.quantities import MeasuredField, PlaceField
from firm.measure import loads
from firm.measure.places import place_words
from firm.measure.written import METRIC
from firm.models import Customer, JobSite
from firm.selectors.profile import firm_profile, firm_units

WIDEST_WAY_IN = 1200.0
STRONGEST_WIND_MPH = 250
# No crew drives so far in a day: 20 degrees are over 1,000 miles.
FAR_DEG = 20.0


class SiteForm(PlainTextMixin, forms.ModelForm[JobSite]):
    """Where a fence is to stand, and what the place is like."""

    place = PlaceField(label="Place on the map")
    access_width_in = LengthField(
        label="Narrowest way in",
        required=False,
        min_in=12,
        max_in=WIDEST_WAY_IN,
        is_short=True,
        help_text="Such as 36 in or 3 ft 6 in: it decides which machine fits.",
        metric_help_text="Such as 90 cm or 0.9 m: it decides which machine fits.",
    )
    wind_speed_mph = MeasuredField(
        measure=loads.WIND_SPEED,
        label="Design wind speed ({unit})",
        required=False,
        least=0,
        most=STRONGEST_WIND_MPH,
        help_text="From the local code, where a check is wanted.",
    )

    class Meta:
        model = JobSite
        fields = (
            "customer",
            "street",
            "city",
            "state",
            "postcode",
            "owner_name",
            "jurisdiction",
            "soil",
            "dig_method",
            "spoil",
            "wind_speed_mph",
            "exposure",
            "pool_barrier",
            "access_width_in",
            "long_barrow",
            "access",
            "gate_code",
            "dog",
            "notes",
        )
        labels: ClassVar = {
            "street": "Street and number",
            "city": "Town",
            "postcode": "ZIP code",
            "owner_name": "Owner of the property",
            "soil": "Soil",
            "dig_method": "Holes are dug",
            "spoil": "Dug-out soil is",
            "exposure": "Exposure to wind",
            "pool_barrier": "The fence keeps people from a pool",
            "long_barrow": "Concrete goes a long way by wheelbarrow",
            "access": "Way in",
            "gate_code": "Gate code",
            "dog": "Dog",
        }
        help_texts: ClassVar = {
            "owner_name": "If it is someone other than the customer.",
            "jurisdiction": "The town or county whose rules hold: depth, heights, permit, locate.",
            "access": "Where to park, what to take down, who opens.",
            "dog": "Its name, and what the crew should know.",
        }
        widgets: ClassVar = {
            "access": forms.Textarea(attrs={"rows": 2}),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }

    PARTS: ClassVar = (
        (
            "Where",
            "The place itself; the customer's post may go elsewhere.",
            (
                "customer",
                "street",
                "city",
                "state",
                "postcode",
                "place",
                "owner_name",
                "jurisdiction",
            ),
        ),
        (
            "Ground and wind",
            "What the holes are dug in. A guess is fine before the visit.",
            ("soil", "dig_method", "spoil", "wind_speed_mph", "exposure", "pool_barrier"),
        ),
        (
            "Getting in",
            "What the crew reads before it drives out.",
            ("access_width_in", "long_barrow", "access", "gate_code", "dog", "notes"),
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["place"] = self.instance.place
        self.fields["place"].help_text += " The drive is reckoned from it."
        self.fields["customer"].empty_label = "Choose"  # type: ignore[attr-defined]
        self.fields["jurisdiction"].empty_label = "Not known yet"  # type: ignore[attr-defined]
        for field in self.fields.values():
            field.widget.attrs.setdefault("autocomplete", "off")

    def clean_place(self) -> tuple[float | None, float | None]:
        """Refuse a place no crew drives to: most often a minus sign is missing."""
        lat_deg, lon_deg = self.cleaned_data["place"]
        yard_lat_deg, yard_lon_deg = firm_profile().yard
        if lat_deg is None or yard_lat_deg is None or yard_lon_deg is None:
            return lat_deg, lon_deg
        if max(abs(lat_deg - yard_lat_deg), abs(lon_deg - yard_lon_deg)) > FAR_DEG:
            far = "1,600 km" if firm_units() == METRIC else "1,000 miles"
            raise ValidationError(
                f"That is over {far} from the yard at "
                f"{place_words(yard_lat_deg, yard_lon_deg)}: is a minus sign missing?",
                code="far",
            )
        return lat_deg, lon_deg

    def values(self) -> dict[str, Any]:
        """Return the site's fields, for the service."""
        values = dict(self.cleaned_data)
        values["latitude"], values["longitude"] = values.pop("place")
        return values

    def offer_only(self, customer: Customer) -> None:
        """Offer this customer alone: a list of thousands is slow to draw and to search."""
        chosen = Customer.objects.filter(pk=customer.pk)
        self.fields["customer"].queryset = chosen  # type: ignore[attr-defined]

    def parts(self) -> list[tuple[str, str, list[forms.BoundField]]]:
        """Return the parts of the form with their fields, for the template."""
        return [
            (title, intro, [self[name] for name in names]) for title, intro, names in self.PARTS
        ]
