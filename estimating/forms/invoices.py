"""Forms about invoices and payments."""

from decimal import Decimal
from typing import Any

from django import forms

from estimating.models import Invoice, Payment
from estimating.selectors.invoices import Contract
from firm.forms.fields import DateField, MoneyField, PlainTextMixin

ONE_CENT = Decimal("0.01")


class DraftForm(PlainTextMixin, forms.Form):
    """What the office may say on a draft."""

    due_on = DateField(
        label="Due on",
        required=False,
        help_text="Left empty it is due 14 days after it is issued.",
    )
    note = forms.CharField(
        label="Note to the customer",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Printed above the lines.",
    )


class IssueForm(forms.Form):
    """Where an invoice goes."""

    to = forms.EmailField(
        label="Mail it to",
        required=False,
        help_text="Left empty it is printed and not mailed.",
    )


class MailInvoiceForm(forms.Form):
    """Where a printed invoice is mailed once more."""

    to = forms.EmailField(label="Mail it to")


class ReasonForm(PlainTextMixin, forms.Form):
    """Why an invoice or a payment is voided."""

    reason = forms.CharField(label="Why?", max_length=300)


class PaymentForm(PlainTextMixin, forms.Form):
    """Money that was received."""

    amount = MoneyField(label="Amount received", min_value=ONE_CENT)
    received_on = DateField(label="Received on")
    way = forms.ChoiceField(label="How", choices=Payment.Way.choices)
    reference = forms.CharField(
        label="Reference",
        required=False,
        max_length=80,
        help_text="A check's number, or what the bank's paper says.",
    )

    def __init__(self, *args: Any, contract: Contract, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        issued = Invoice.objects.filter(proposal=contract.proposal, state=Invoice.State.ISSUED)
        self.fields["invoice"] = forms.ModelChoiceField(
            label="For",
            queryset=issued.order_by("number"),
            required=False,
            empty_label="The contract as a whole",
            help_text="Money for the contract as a whole is taken off the balance.",
        )
