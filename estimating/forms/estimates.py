"""Forms of estimates: filters, typed lines, figures set by hand, repairs."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from estimating.models import Estimate, EstimateLine
from firm.forms.fields import DecimalField, MoneyField, PlainTextMixin
from firm.measure import sold
from firm.models import Customer, JobSite
from firm.selectors.profile import firm_units

NEW_LINE = {"quantity": Decimal(1), "unit": "each", "unit_cost": None, "labor_hours": None}


class EstimateFilterForm(forms.Form):
    """Narrows the list of estimates."""

    q = forms.CharField(label="Number, title, customer or street", required=False, max_length=80)
    # Both come with a link from elsewhere: a list of thousands is slow to draw and to search.
    customer = forms.ModelChoiceField(
        Customer.objects.all(), required=False, widget=forms.HiddenInput
    )
    site = forms.ModelChoiceField(
        JobSite.objects.select_related("customer"), required=False, widget=forms.HiddenInput
    )
    state = forms.ChoiceField(
        choices=[("", "Every state"), *Estimate.State.choices], required=False
    )


class TypedLineForm(PlainTextMixin, forms.ModelForm[EstimateLine]):
    """One line typed by the office: a cost to be marked up, or a price."""

    use_required_attribute = False

    unit_cost = MoneyField(
        label="Cost of one",
        decimal_places=4,
        required=False,
        help_text="Joins the direct cost and is marked up.",
    )
    price = MoneyField(
        label="Price of the whole line",
        required=False,
        help_text="Instead of a cost: what the customer pays, before tax.",
    )
    labor_hours = DecimalField(
        label="Labour hours",
        min_value=0,
        max_digits=7,
        decimal_places=2,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    quantity = DecimalField(
        min_value=0,
        max_digits=10,
        decimal_places=3,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )

    class Meta:
        model = EstimateLine
        fields = (
            "description",
            "quantity",
            "unit",
            "unit_cost",
            "price",
            "labor_hours",
            "is_optional",
        )
        labels: ClassVar = {
            "description": "What it is",
            "is_optional": "Optional: the customer may tick it when accepting",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        instance = kwargs.get("instance")
        if instance is None or instance.pk is None:
            # A new line starts with empty figures, not with the zeros of an empty row.
            kwargs["initial"] = {**NEW_LINE, **(kwargs.get("initial") or {})}
        super().__init__(*args, **kwargs)
        self.fields["unit"].required = False

    def clean(self) -> dict[str, Any]:
        """Fill in what was left empty, and ask for one figure at least."""
        values = super().clean() or self.cleaned_data
        for name, usual in (
            ("quantity", Decimal(1)),
            ("unit", "each"),
            ("unit_cost", Decimal(0)),
            ("labor_hours", Decimal(0)),
        ):
            if name in values and values[name] in (None, ""):
                values[name] = usual
        if self.errors:
            return values
        has_cost = values["unit_cost"] or values["labor_hours"]
        if values.get("price") is not None and has_cost:
            raise ValidationError(
                {"price": "Give this line a cost (or hours), or a price, not both."}
            )
        if values.get("price") is None and not has_cost:
            raise ValidationError({"unit_cost": "Type a cost, hours, or a price."})
        return values


BY_METRE_HELP = (
    "Of what is sold by the metre: metres, or the cost of one. "
    "It is bought in whole feet, so 1.50 m counts as 1.52 m."
)


class OverrideForm(PlainTextMixin, forms.Form):
    """A figure set by hand, with its reason."""

    use_required_attribute = False

    target = forms.ChoiceField(label="Which figure")
    value = DecimalField(
        label="Set it to",
        min_value=0,
        max_digits=12,
        decimal_places=4,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    reason = forms.CharField(max_length=200, label="Why")

    def __init__(
        self,
        *args: Any,
        words: Mapping[str, str],
        own: Mapping[str, str],
        sold_by: Mapping[str, str],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.sold_by = sold_by
        if any(sold.metric_in_one(unit, firm_units()) != 1 for unit in sold_by.values()):
            self.fields["value"].help_text = BY_METRE_HELP
        target = self.fields["target"]
        assert isinstance(target, forms.ChoiceField)  # noqa: S101 - tells the type checker
        target.choices = [
            ("", "Choose a figure"),
            *((key, f"{name} (now {own.get(key, '')})") for key, name in words.items()),
        ]

    def clean(self) -> dict[str, Any]:
        """Turn metres of what is sold by the foot, and the cost of one, into feet."""
        cleaned: dict[str, Any] = super().clean() or {}
        target, value = cleaned.get("target", ""), cleaned.get("value")
        if value is not None:
            keep = sold.cost_kept if target.startswith("unit_cost:") else sold.count_kept
            cleaned["value"] = keep(value, self.sold_by.get(target, ""), firm_units())
        return cleaned


class RepairForm(PlainTextMixin, forms.Form):
    """The head of an estimate without a layout."""

    use_required_attribute = False

    customer = forms.ModelChoiceField(Customer.objects.all(), empty_label="Choose a customer")
    site = forms.ModelChoiceField(JobSite.objects.all(), required=False, empty_label="No job site")
    title = forms.CharField(label="What is repaired", max_length=120)
    notes = forms.CharField(
        required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )


TypedLineFormSet = forms.modelformset_factory(
    EstimateLine, form=TypedLineForm, extra=2, max_num=60, validate_max=True
)
