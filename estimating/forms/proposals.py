"""Forms about proposals, for the office and for the customer."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from estimating.models import Proposal
from estimating.selectors.beside import Beside
from estimating.services.payment_schedule import PaymentStep
from estimating.services.proposals import TEXT_FIELDS, DraftText
from firm.forms.fields import DateField, MoneyField, PlainTextMixin
from firm.measure.money import format_money
from firm.validators import plain_text

PAYMENT_ROWS = 4
# How files of these kinds begin: PDF 1.x (ISO 32000), JPEG (ISO 10918-1 SOI), PNG (RFC 2083).
SCAN_KINDS = {b"%PDF-": "pdf", b"\xff\xd8\xff": "jpg", b"\x89PNG\r\n\x1a\n": "png"}
LONGEST_SIGNATURE = 120


def _long_text(rows: int) -> forms.Textarea:
    return forms.Textarea(attrs={"rows": rows})


class ProposalForm(PlainTextMixin, forms.Form):
    """A draft: its text, level of detail, last day and payments."""

    detail = forms.ChoiceField(
        label="Price shown as",
        choices=Proposal.Detail.choices,
        help_text="The price is the same; this is how much of it the customer sees.",
    )
    valid_until = DateField(label="Good until", help_text="The last day it can be accepted.")
    introduction = forms.CharField(required=False, widget=_long_text(4), max_length=4000)
    scope_text = forms.CharField(
        label="What we build",
        widget=_long_text(10),
        max_length=12000,
        help_text="Made from the layout. Each line of text is a paragraph.",
    )
    exclusions_text = forms.CharField(
        label="What is not included",
        required=False,
        widget=_long_text(8),
        max_length=8000,
        help_text="Each line of text is a point.",
    )

    beside = forms.MultipleChoiceField(
        label="Other ways to show beside the price",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Shown with their prices. The customer accepts what this proposal describes; "
        "for another way you send another proposal.",
    )

    def __init__(self, *args: Any, beside: Sequence[Beside] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if beside:
            field = self.fields["beside"]
            assert isinstance(field, forms.MultipleChoiceField)  # noqa: S101 - for the type checker
            field.choices = [
                (each.key, f"{each.name}: {format_money(each.price)}") for each in beside
            ]
        else:
            del self.fields["beside"]
        for number in range(1, PAYMENT_ROWS + 1):
            self.fields[f"payment_{number}_description"] = forms.CharField(
                label=f"Payment {number}: when",
                required=number == 1,
                max_length=120,
                validators=[plain_text],
            )
            self.fields[f"payment_{number}_amount"] = MoneyField(
                label=f"Payment {number}: amount", required=number == 1
            )

    @staticmethod
    def initial_of(proposal: Proposal) -> dict[str, Any]:
        """Return what the form shows at first."""
        initial: dict[str, Any] = {
            name: getattr(proposal, name) for name in (*TEXT_FIELDS, "beside")
        }
        for number, row in enumerate(proposal.payments.all(), start=1):
            initial[f"payment_{number}_description"] = row.description
            initial[f"payment_{number}_amount"] = row.amount
        return initial

    def payment_pairs(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """Return the two fields of each payment, for the page."""
        return [
            (self[f"payment_{number}_description"], self[f"payment_{number}_amount"])
            for number in range(1, PAYMENT_ROWS + 1)
        ]

    def clean(self) -> dict[str, Any]:
        """Ask for both halves of each payment."""
        cleaned = super().clean() or self.cleaned_data
        for number in range(1, PAYMENT_ROWS + 1):
            words, amount = f"payment_{number}_description", f"payment_{number}_amount"
            if cleaned.get(amount) and not cleaned.get(words) and words not in self.errors:
                self.add_error(words, "Say when this payment is due.")
            if cleaned.get(words) and not cleaned.get(amount) and amount not in self.errors:
                self.add_error(amount, "Type the amount of this payment.")
        return cleaned

    def draft_text(self) -> DraftText:
        """Return what was typed, for the service."""
        data = self.cleaned_data
        steps = [
            PaymentStep(
                description=data[f"payment_{number}_description"],
                amount=data[f"payment_{number}_amount"],
            )
            for number in range(1, PAYMENT_ROWS + 1)
            if data.get(f"payment_{number}_amount")
        ]
        return DraftText(
            detail=data["detail"],
            introduction=data["introduction"],
            scope_text=data["scope_text"],
            exclusions_text=data["exclusions_text"],
            valid_until=data["valid_until"],
            payments=steps,
            beside=data.get("beside", ()),
        )


class SendForm(forms.Form):
    """Where a proposal goes."""

    to = forms.EmailField(
        label="Mail to",
        required=False,
        max_length=254,
        help_text="Left empty, it is printed and not mailed: you hand it over yourself.",
    )


class DeclineForm(PlainTextMixin, forms.Form):
    """A no, and why."""

    reason = forms.CharField(
        label="Why not?",
        max_length=300,
        widget=_long_text(3),
        help_text="A word or two is enough: price, time, another firm, no fence after all.",
    )


class CallForm(PlainTextMixin, forms.Form):
    """What was said, and when to call next."""

    note = forms.CharField(label="What was said", max_length=300, required=False)
    call_after = DateField(label="Call again on", required=False)


class PaperAcceptanceForm(PlainTextMixin, forms.Form):
    """A signature on paper, with its scan."""

    signed_name = forms.CharField(label="Name as signed", max_length=LONGEST_SIGNATURE)
    signed_on = DateField(label="Day signed")
    options = forms.MultipleChoiceField(
        label="Options ticked", required=False, widget=forms.CheckboxSelectMultiple
    )
    scan = forms.FileField(
        label="Scan",
        help_text="All signed pages as one PDF, or a JPEG or PNG picture.",
        widget=forms.ClearableFileInput(attrs={"accept": ".pdf,.jpg,.jpeg,.png"}),
    )

    def __init__(self, *args: Any, proposal: Proposal, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _offer_options(self, proposal)

    def clean_scan(self) -> "UploadedFile[bytes]":
        """Take only what begins like a PDF, JPEG or PNG and is not too large."""
        scan: UploadedFile[bytes] = self.cleaned_data["scan"]
        most = settings.FF_UPLOAD_MAX_BYTES
        if (scan.size or 0) > most:
            raise ValidationError(f"The scan is larger than {most // 1024 // 1024} MB.")
        start = scan.read(8)
        scan.seek(0)
        kind = next((kind for head, kind in SCAN_KINDS.items() if start.startswith(head)), "")
        if not kind:
            raise ValidationError("This is no PDF, JPEG or PNG file.")
        scan.name = f"signed.{kind}"
        return scan


class AcceptanceForm(PlainTextMixin, forms.Form):
    """The customer's yes."""

    options = forms.MultipleChoiceField(
        label="Options", required=False, widget=forms.CheckboxSelectMultiple
    )
    signed_name = forms.CharField(
        label="Your full name",
        max_length=LONGEST_SIGNATURE,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
        error_messages={"required": "Type your name: it stands for your signature."},
    )
    consent = forms.BooleanField(
        error_messages={"required": "Tick this box if you accept; without it nothing is agreed."}
    )
    pdf_sha256 = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, proposal: Proposal, consent: str, **kwargs: Any) -> None:
        kwargs.setdefault("initial", {"pdf_sha256": proposal.pdf_sha256})
        super().__init__(*args, **kwargs)
        self.fields["consent"].label = consent
        _offer_options(self, proposal)


def _offer_options(form: forms.Form, proposal: Proposal) -> None:
    """Let the form offer the proposal's options, or none at all."""
    rows = list(proposal.options.all())
    field = form.fields["options"]
    if rows and isinstance(field, forms.MultipleChoiceField):
        field.choices = [(row.key, row.description) for row in rows]
    else:
        del form.fields["options"]
