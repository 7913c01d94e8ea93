"""Log-in, log-out and a new password by mail."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import views as auth_views
from django.contrib.auth.forms import AuthenticationForm, SetPasswordForm
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from firm.access import open_to_all
from firm.forms.accounts import ForgottenPasswordForm, LogInForm
from firm.models import User
from firm.selectors.languages import spoken_now
from firm.selectors.users import needs_first_run
from firm.services.log_ins import forget_failed_log_ins
from firm.services.users import send_forgotten_password_links
from firm.views.refusing import page_with_forms


class LogInView(auth_views.LoginView):
    """The log-in page; a database without an owner leads to the first-run page instead."""

    authentication_form = LogInForm
    redirect_authenticated_user = True

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Send the very first visitor to the first-run page."""
        if request.method == "GET" and needs_first_run():
            return redirect("first_run")
        return super().dispatch(request, *args, **kwargs)

    def form_invalid(self, form: "AuthenticationForm") -> HttpResponse:
        """Answer what is wrong as every page with a form does."""
        return page_with_forms(
            self.request, str(self.template_name), self.get_context_data(form=form)
        )


class LogOutView(auth_views.LogoutView):
    """Log-out, which also empties the browser's store of pages: going back shows none of them."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Ask the browser to forget (W3C Clear Site Data, section 3.1)."""
        response = super().dispatch(request, *args, **kwargs)
        if request.method == "POST":
            response.headers["Clear-Site-Data"] = '"cache"'
        return response


class NewPasswordView(auth_views.PasswordResetConfirmView):
    """The page behind the link in the mail; the link works once."""

    success_url = reverse_lazy("login")

    def form_valid(self, form: "SetPasswordForm[User]") -> HttpResponse:
        """Say so on the log-in page."""
        if self.user is not None:
            forget_failed_log_ins(name=self.user.get_username())
        messages.success(self.request, _("The new password stands. Log in with it."))
        return super().form_valid(form)

    def form_invalid(self, form: "SetPasswordForm[User]") -> HttpResponse:
        """Answer what is wrong as every page with a form does."""
        return page_with_forms(
            self.request, str(self.template_name), self.get_context_data(form=form)
        )


login = open_to_all(LogInView.as_view())
logout = open_to_all(LogOutView.as_view())
password_reset_confirm = open_to_all(NewPasswordView.as_view())


@open_to_all
@require_http_methods(["GET", "POST"])
def password_reset(request: HttpRequest) -> HttpResponse:
    """Ask for an address; the answer is the same whether or not anyone has it."""
    form = ForgottenPasswordForm(request.POST or None)
    if form.is_valid():
        send_forgotten_password_links(
            email=form.cleaned_data["email"], asked_in=spoken_now(), at=timezone.now()
        )
        return redirect("password_reset_done")
    return page_with_forms(request, "registration/password_reset_form.html", {"form": form})


@open_to_all
@require_safe
def password_reset_done(request: HttpRequest) -> HttpResponse:
    """Say what happens next."""
    return render(request, "registration/password_reset_done.html")
