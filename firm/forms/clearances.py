"""Forms for clearances and for what utilities answer."""

from typing import Any, ClassVar

from django import forms

from firm.forms.fields import DateField, PlainTextMixin
from firm.models import Clearance, UtilityAnswer

Kind = Clearance.Kind

NUMBER_LABELS = {
    Kind.PERMIT: "Permit number",
    Kind.LOCATE: "Ticket number",
    Kind.DEPOSIT: "Receipt or check number",
    Kind.PINS: "Survey or plat number",
    Kind.EASEMENT: "Document number",
    Kind.ASSOCIATION: "Letter or case number",
}
ASKED_LABELS = {
    Kind.LOCATE: "Called on",
    Kind.PERMIT: "Applied for on",
    Kind.DEPOSIT: "Asked for on",
}
CLEAR_LABELS = {
    Kind.LOCATE: "Digging from",
    Kind.PERMIT: "Granted on",
    Kind.DEPOSIT: "Received on",
    Kind.PINS: "Shown on",
    Kind.EASEMENT: "Settled on",
    Kind.ASSOCIATION: "Approved on",
}


class ClearanceForm(PlainTextMixin, forms.ModelForm[Clearance]):
    """One clearance; a locate ticket has dates that others lack."""

    asked_on = DateField(required=False)
    stated_start_on = DateField(
        label="Start of work told to the centre",
        required=False,
        help_text="Empty where none was stated.",
    )
    clear_on = DateField(required=False)
    renew_by = DateField(label="Renew by", required=False)
    expires_on = DateField(label="Ends on", required=False)

    class Meta:
        model = Clearance
        fields = (
            "state",
            "number",
            "asked_on",
            "stated_start_on",
            "clear_on",
            "renew_by",
            "expires_on",
            "notes",
        )
        labels: ClassVar = {"state": "Where it stands"}
        widgets: ClassVar = {"notes": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        named = Kind(kind)
        self.fields["number"].label = NUMBER_LABELS[named]
        self.fields["asked_on"].label = ASKED_LABELS.get(named, "Asked on")
        self.fields["clear_on"].label = CLEAR_LABELS[named]
        if named == Kind.LOCATE:
            left_empty = "Left empty, it is worked out. The ticket's own date rules: type it."
            for name in ("clear_on", "renew_by", "expires_on"):
                self.fields[name].help_text = left_empty
        else:
            del self.fields["stated_start_on"], self.fields["renew_by"]


class NewClearanceForm(ClearanceForm):
    """A further clearance: what kind it is comes first."""

    class Meta(ClearanceForm.Meta):
        fields = ("kind", *ClearanceForm.Meta.fields)  # type: ignore[assignment]
        labels: ClassVar = {**ClearanceForm.Meta.labels, "kind": "What is to be cleared"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, kind=Kind.LOCATE, **kwargs)
        self.fields["number"].label = "Number"
        self.fields["asked_on"].label = "Asked for or called on"
        self.fields["clear_on"].label = "Clear from"
        for name in ("stated_start_on", "renew_by"):
            self.fields[name].help_text = "For locate tickets."
        for name in ("clear_on", "expires_on"):
            self.fields[name].help_text = "Left empty on a locate ticket, it is worked out."


class UtilityAnswerForm(PlainTextMixin, forms.ModelForm[UtilityAnswer]):
    """What one utility answered."""

    answered_on = DateField(label="Answered on", required=False)

    class Meta:
        model = UtilityAnswer
        fields = ("utility", "answer", "answered_on", "note")
        labels: ClassVar = {"utility": "Utility", "answer": "Answer", "note": "Note"}
        help_texts: ClassVar = {
            "utility": "As the ticket names it: gas, electric, water, a cable company."
        }
