"""The form for a job site."""

from typing import Any, ClassVar

from django import forms

from firm.forms.fields import LengthField, NumberField, PlainTextMixin
from firm.models import Customer, JobSite

WIDEST_WAY_IN = 1200.0
STRONGEST_WIND_MPH = 250


class SiteForm(PlainTextMixin, forms.ModelForm[JobSite]):
    """Where a fence is to stand, and what the place is like."""

    access_width_in = LengthField(
        label="Narrowest way in",
        required=False,
        min_in=12,
        max_in=WIDEST_WAY_IN,
        is_short=True,
        help_text="Such as 36 in or 3 ft 6 in: it decides which machine fits.",
        metric_help_text="Such as 90 cm or 0.9 m: it decides which machine fits.",
    )
    wind_speed_mph = NumberField(
        label="Design wind speed (mph)",
        required=False,
        min_value=0,
        max_value=STRONGEST_WIND_MPH,
        help_text="From the local code, where a check is wanted.",
        # A number input throws away what it can't read, before anyone is told.
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
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
            ("customer", "street", "city", "state", "postcode", "owner_name", "jurisdiction"),
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
        self.fields["customer"].empty_label = "Choose"  # type: ignore[attr-defined]
        self.fields["jurisdiction"].empty_label = "Not known yet"  # type: ignore[attr-defined]
        for field in self.fields.values():
            field.widget.attrs.setdefault("autocomplete", "off")

    def offer_only(self, customer: Customer) -> None:
        """Offer this customer alone: a list of thousands is slow to draw and to search."""
        chosen = Customer.objects.filter(pk=customer.pk)
        self.fields["customer"].queryset = chosen  # type: ignore[attr-defined]

    def parts(self) -> list[tuple[str, str, list[forms.BoundField]]]:
        """Return the parts of the form with their fields, for the template."""
        return [
            (title, intro, [self[name] for name in names]) for title, intro, names in self.PARTS
        ]
