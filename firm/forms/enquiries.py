"""The form for an enquiry; someone new can be typed in the same go."""

from typing import Any, ClassVar

from django import forms

from firm.forms.fields import DateField, DateTimeField, FenceLengthField, PlainTextMixin
from firm.models import Customer, Enquiry
from firm.selectors.customers import customers_known_by
from firm.services.enquiries import NewCaller

OWNS = (("", "Not known yet"), ("true", "Yes"), ("false", "No: a tenant, a neighbour, an agent"))


class EnquiryForm(PlainTextMixin, forms.ModelForm[Enquiry]):
    """What is wanted, where, by when, and when the visit is."""

    wanted_by = DateField(label="Wanted by", required=False)
    appointment_at = DateTimeField(label="Visit on", required=False)
    asker_owns = forms.TypedChoiceField(
        label="Does the asker own the property?",
        choices=OWNS,
        required=False,
        coerce=lambda value: value == "true",
        empty_value=None,
    )
    rough_length_ft = FenceLengthField(
        label="Rough length",
        required=False,
        min_in=12,
        max_in=100_000 * 12.0,
        help_text="Such as 120 (feet), 120 ft or 40 m.",
        metric_help_text="Such as 40 (metres), 40 m or 120 ft.",
    )

    class Meta:
        model = Enquiry
        fields = (
            "wanted",
            "reason",
            "place",
            "rough_length_ft",
            "asker_owns",
            "source",
            "wanted_by",
            "appointment_at",
            "state",
            "notes",
        )
        labels: ClassVar = {
            "wanted": "What is wanted",
            "reason": "Why",
            "place": "Where",
            "source": "How they heard of us",
            "state": "Where it stands",
        }
        help_texts: ClassVar = {
            "reason": "A dog, a pool, privacy: it decides what may be built.",
            "place": "Street and town of the job.",
        }
        widgets: ClassVar = {
            "wanted": forms.Textarea(attrs={"rows": 2}),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk and self.instance.asker_owns is not None:
            self.initial["asker_owns"] = str(self.instance.asker_owns).lower()


class NewEnquiryForm(EnquiryForm):
    """An enquiry as it comes in by phone: from a customer, or from someone new."""

    customer = forms.ModelChoiceField(
        label="A customer already",
        queryset=Customer.objects.all(),
        required=False,
        empty_label="No, someone new",
        help_text="Choose them here, or type who it is below.",
    )
    caller_name = forms.CharField(label="Name", required=False, max_length=120)
    caller_phone = forms.CharField(
        label="Phone",
        required=False,
        max_length=40,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
    )
    caller_email = forms.EmailField(label="E-mail", required=False, max_length=254)
    is_someone_else = forms.BooleanField(
        label="It is someone else: add a new customer", required=False
    )

    def clean(self) -> dict[str, Any] | None:
        """See that it is known who asks, and that nobody is added twice by mistake."""
        cleaned = super().clean()
        values = self.cleaned_data
        if values.get("customer"):
            return cleaned
        if not values.get("caller_name") and "caller_name" not in self.errors:
            self.add_error("caller_name", "Type who asks, or choose the customer.")
        known = customers_known_by(
            email=values.get("caller_email", ""), phone=values.get("caller_phone", "")
        ).first()
        if known and not values.get("is_someone_else"):
            self.add_error(
                "is_someone_else",
                f"{known} has this phone number or e-mail already: choose them above, "
                "or tick this.",
            )
        return cleaned

    def offer_only(self, customer: Customer) -> None:
        """Offer this customer alone: a list of thousands is slow to draw and to search."""
        chosen = Customer.objects.filter(pk=customer.pk)
        self.fields["customer"].queryset = chosen  # type: ignore[attr-defined]

    def asker(self) -> Customer | NewCaller:
        """Return who asks."""
        values = self.cleaned_data
        customer: Customer | None = values["customer"]
        return customer or NewCaller(
            name=values["caller_name"],
            phone=values["caller_phone"],
            email=values["caller_email"],
            source=values["source"],
        )

    def enquiry_values(self) -> dict[str, Any]:
        """Return what belongs to the enquiry itself."""
        return {name: self.cleaned_data[name] for name in self._meta.fields or ()}
