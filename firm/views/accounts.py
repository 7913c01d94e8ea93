"""Log-in, log-out and a new password by mail."""

from typing import Any

from django.contrib.auth import views as auth_views
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import redirect

from firm.access import open_to_all
from firm.forms.accounts import LogInForm
from firm.selectors.users import needs_first_run


class LogInView(auth_views.LoginView):
    """The log-in page; a database without an owner leads to the first-run page instead."""

    authentication_form = LogInForm
    redirect_authenticated_user = True

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Send the very first visitor to the first-run page."""
        if request.method == "GET" and needs_first_run():
            return redirect("first_run")
        return super().dispatch(request, *args, **kwargs)


login = open_to_all(LogInView.as_view())
logout = open_to_all(auth_views.LogoutView.as_view())
password_reset = open_to_all(auth_views.PasswordResetView.as_view())
password_reset_done = open_to_all(auth_views.PasswordResetDoneView.as_view())
password_reset_confirm = open_to_all(auth_views.PasswordResetConfirmView.as_view())
password_reset_complete = open_to_all(auth_views.PasswordResetCompleteView.as_view())
