"""Forms about change orders, for the office."""

from decimal import Decimal
from typing import Any

from django import forms

from estimating.models import ChangeOrder
from estimating.services.change_orders import ChangeText
from firm.forms.fields import DateField, DecimalField, MoneyField, PlainTextMixin, WholeNumberField

MOST_DAYS = 250
MOST_HOURS = Decimal(99_999)


class ChangeOrderForm(PlainTextMixin, forms.Form):
    """What a change order says, what it costs, and what it takes."""

    title = forms.CharField(max_length=120, help_text="What changes, in a few words.")
    description = forms.CharField(
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text="The customer reads this and signs it.",
    )
    price_before_tax = MoneyField(
        min_value=None, help_text="Less than nothing gives money back: -120.00."
    )
    extra_days = WholeNumberField(
        label="Working days more",
        required=False,
        min_value=-MOST_DAYS,
        max_value=MOST_DAYS,
        help_text="Empty or 0 where it takes no longer.",
    )
    direct_cost = MoneyField(
        label="What it costs the firm",
        min_value=None,
        required=False,
        help_text="For the margin; never printed.",
    )
    labor_hours = DecimalField(
        label="Labour hours more",
        required=False,
        max_digits=7,
        decimal_places=2,
        min_value=-MOST_HOURS,
        max_value=MOST_HOURS,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
        help_text="Hours of people; for the margin, never printed.",
    )

    @staticmethod
    def initial_of(order: ChangeOrder) -> dict[str, Any]:
        """Return what the form shows of a draft."""
        names = ChangeOrderForm.base_fields
        return {name: getattr(order, name) for name in names}

    def text(self) -> ChangeText:
        """Return what was typed, for the service."""
        data = self.cleaned_data
        return ChangeText(
            title=data["title"],
            description=data["description"],
            price_before_tax=data["price_before_tax"],
            extra_days=data["extra_days"] or 0,
            direct_cost=data["direct_cost"] or Decimal(0),
            labor_hours=data["labor_hours"] or Decimal(0),
        )


class DeclineChangeForm(PlainTextMixin, forms.Form):
    """A no, and what was said."""

    note = forms.CharField(label="What the customer said", max_length=300)


class PaperChangeForm(PlainTextMixin, forms.Form):
    """A signature on the printed change order."""

    signed_name = forms.CharField(label="Name as signed", max_length=120)
    signed_on = DateField(label="Day signed")
    seen = forms.CharField(widget=forms.HiddenInput, max_length=64)
