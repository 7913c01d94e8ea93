"""The form of a supplier."""

from typing import ClassVar

from django import forms

from estimating.models import Supplier
from firm.forms.fields import PlainTextMixin, written_numbers


class SupplierForm(PlainTextMixin, forms.ModelForm[Supplier]):
    """Who material is bought from, and how long it takes to come."""

    class Meta:
        model = Supplier
        formfield_callback = written_numbers
        fields = ("name", "phone", "email", "account_number", "lead_days", "is_active")
        labels: ClassVar = {
            "email": "E-mail",
            "account_number": "Our account number",
            "lead_days": "Days from order to delivery",
            "is_active": "We buy here",
        }
        help_texts: ClassVar = {
            "email": "Where purchase orders are mailed.",
            "lead_days": "Days of the calendar, weekends counted. The last day to order follows.",
        }
        widgets: ClassVar = {
            "phone": forms.TextInput(attrs={"type": "tel"}),
            "lead_days": forms.TextInput(attrs={"inputmode": "numeric"}),
        }

    def validate_unique(self) -> None:
        """Leave it to the service: another office may take the name a moment later as well."""
