"""What is typed from a receipt."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError

from firm.forms.fields import DateField, MoneyField, PlainTextMixin
from scheduling.models import JobCost
from scheduling.services.costs import NO_AMOUNT

LEAST = Decimal("-1000000")
MOST = Decimal("1000000")


class JobCostForm(PlainTextMixin, forms.ModelForm[JobCost]):
    """One cost of a job from a receipt or an invoice."""

    amount = MoneyField(
        label="Amount",
        min_value=LEAST,
        max_value=MOST,
        help_text="With its tax. With a minus for what was given back: -35.50.",
    )
    spent_on = DateField(label="Date on the receipt")

    class Meta:
        model = JobCost
        fields = ("kind", "description", "supplier", "spent_on", "amount")
        labels = {"description": "What was bought", "supplier": "From whom"}  # noqa: RUF012

    def clean_amount(self) -> Decimal:
        """Refuse nothing at its field; the table's own rule would speak of no field."""
        amount: Decimal = self.cleaned_data["amount"]
        if not amount:
            raise ValidationError(NO_AMOUNT, code="nothing")
        return amount
