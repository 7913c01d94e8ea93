"""What is typed from a receipt."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from firm.forms.fields import DateField, MoneyField, PlainTextMixin
from firm.measure.money import format_money
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
    covers = forms.MultipleChoiceField(
        label="Deliveries on this invoice",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="They count as costs already. What is ticked counts with this invoice instead.",
    )
    covers_none = forms.BooleanField(label="None of these deliveries is on it", required=False)

    class Meta:
        model = JobCost
        fields = ("kind", "description", "supplier", "spent_on", "amount")
        labels = {"description": "What was bought", "supplier": "From whom"}  # noqa: RUF012

    def __init__(self, *args: Any, deliveries: Sequence[JobCost] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        own = self.instance.pk
        open_rows = [row for row in deliveries if row.invoice_id in (None, own)]
        if not open_rows:
            del self.fields["covers"], self.fields["covers_none"]
            return
        self.fields["covers"].choices = [  # type: ignore[attr-defined]
            (str(row.pk), _delivery_words(row)) for row in open_rows
        ]
        covered = [str(row.pk) for row in open_rows if own and row.invoice_id == own]
        self.fields["covers"].initial = covered
        self.fields["covers_none"].initial = bool(own and not covered)

    @property
    def covered(self) -> list[int]:
        """The deliveries on this invoice."""
        return [int(key) for key in self.cleaned_data.get("covers", ())]

    def values(self) -> dict[str, Any]:
        """Return what the cost itself says."""
        return {name: self.cleaned_data[name] for name in self.Meta.fields}

    def clean(self) -> dict[str, Any] | None:
        """Ask which deliveries a bill for material is about: nothing may count twice."""
        cleaned = super().clean()
        values = self.cleaned_data
        if "covers" not in self.fields or "covers" in self.errors:
            return cleaned
        covers, says_none = values.get("covers"), values.get("covers_none")
        if covers and says_none:
            self.add_error("covers_none", "Some are ticked above: take one or the other back.")
        elif values.get("kind") == JobCost.Kind.MATERIAL and not covers and not says_none:
            self.add_error(
                "covers", "Tick the deliveries on this invoice, or that none is: else both count."
            )
        return cleaned

    def clean_amount(self) -> Decimal:
        """Refuse nothing at its field; the table's own rule would speak of no field."""
        amount: Decimal = self.cleaned_data["amount"]
        if not amount:
            raise ValidationError(NO_AMOUNT, code="nothing")
        return amount


def _delivery_words(row: JobCost) -> str:
    day = row.spent_on
    return f"{row.description} {day:%b} {day.day}, {row.supplier}: {format_money(row.amount)}"
