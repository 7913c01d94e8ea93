"""Forms for log-in and passwords."""

from typing import Any, ClassVar

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.password_validation import validate_password
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from firm.errors import Refusal
from firm.forms.fields import PlainTextMixin
from firm.models import Role, User
from firm.selectors.languages import spoken
from firm.services.log_ins import (
    forget_failed_log_ins,
    note_failed_log_in,
    refuse_hasty_log_in,
)
from firm.services.users import PersonDetails


class LogInForm(AuthenticationForm):
    """Name and password."""

    error_messages = {  # noqa: RUF012 - the base class calls it an instance variable
        "invalid_login": _("That name and password don't belong together. Capitals count."),
        "inactive": _("This log-in is switched off. The owner can switch it on again."),
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = _("Log-in name")

    def clean(self) -> dict[str, Any]:
        """Check the password, unless too many wrong ones came before."""
        name = self.cleaned_data.get("username")
        if not name or self.request is None:
            return super().clean()
        who = {"name": name, "address": self.request.META.get("REMOTE_ADDR") or ""}
        now = timezone.now()
        try:
            refuse_hasty_log_in(**who, now=now)
        except Refusal as refusal:
            raise forms.ValidationError(spoken(refusal.message), code="too_many") from refusal
        try:
            cleaned = super().clean()
        except forms.ValidationError:
            note_failed_log_in(**who, now=now)
            raise
        forget_failed_log_ins(**who)
        return cleaned


class PersonForm(PlainTextMixin, forms.ModelForm[User]):
    """Who someone is and what they may do."""

    first_name = forms.CharField(max_length=150)
    is_active = forms.BooleanField(
        label="May log in", required=False, initial=True, help_text="Untick when someone leaves."
    )

    class Meta:
        model = User
        fields = ("first_name", "last_name", "username", "role", "email", "phone", "is_active")
        labels: ClassVar = {"username": "Log-in name", "email": "E-mail"}
        help_texts: ClassVar = {
            "username": "Letters, digits and . _ - without blanks.",
            "email": "Links to a new password go here.",
            "role": "Owner sees everything. Office sees no wages. A crew lead sees no prices.",
        }

    def details(self) -> PersonDetails:
        """Return what was typed, for the service."""
        values = self.cleaned_data
        return PersonDetails(
            username=values["username"],
            first_name=values["first_name"],
            last_name=values["last_name"],
            email=values["email"],
            phone=values["phone"],
            role=Role(values["role"]),
        )


class FirstOwnerForm(PlainTextMixin, forms.ModelForm[User]):
    """The owner's own log-in, made with the firm."""

    first_name = forms.CharField(max_length=150, label="Your first name")
    password = forms.CharField(
        strip=False,
        help_text="Ten characters or more; a few plain words in a row are good.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}, render_value=True),
    )
    password_again = forms.CharField(
        strip=False,
        label="The same password again",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}, render_value=True),
    )

    class Meta:
        model = User
        fields = ("first_name", "last_name", "email", "username")
        labels: ClassVar = {
            "username": "Log-in name",
            "email": "Your e-mail",
            "last_name": "Your last name",
        }
        help_texts: ClassVar = {"username": "", "email": "Links to a new password go here."}
        widgets: ClassVar = {
            "username": forms.TextInput(attrs={"autocomplete": "username"}),
            "first_name": forms.TextInput(attrs={"autocomplete": "given-name"}),
            "last_name": forms.TextInput(attrs={"autocomplete": "family-name"}),
            "email": forms.EmailInput(attrs={"autocomplete": "email"}),
        }

    def clean(self) -> dict[str, Any] | None:
        """Check the password against the rules and its repetition."""
        cleaned = super().clean()
        password = self.cleaned_data.get("password")
        again = self.cleaned_data.get("password_again")
        if password and again and password != again:
            self.add_error("password_again", "The two passwords differ.")
        if password:
            person = User(
                username=self.cleaned_data.get("username", ""),
                first_name=self.cleaned_data.get("first_name", ""),
                last_name=self.cleaned_data.get("last_name", ""),
                email=self.cleaned_data.get("email", ""),
            )
            try:
                validate_password(password, person)
            except forms.ValidationError as error:
                self.add_error("password", error)
        return cleaned

    def details(self) -> PersonDetails:
        """Return what was typed, for the service."""
        values = self.cleaned_data
        return PersonDetails(
            username=values["username"],
            first_name=values["first_name"],
            last_name=values["last_name"],
            email=values["email"],
            role=Role.OWNER,
        )


class ForgottenPasswordForm(forms.Form):
    """The address a link to a new password goes to."""

    email = forms.EmailField(
        label=_("Your e-mail"), max_length=254, widget=forms.EmailInput({"autocomplete": "email"})
    )
