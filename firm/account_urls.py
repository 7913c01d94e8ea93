"""Addresses of log-in, first run, settings, people, the record and kept mails."""

from django.urls import path

from firm.views import accounts

urlpatterns = [
    path("log-in/", accounts.login, name="login"),
    path("log-out/", accounts.logout, name="logout"),
    path("password/forgotten/", accounts.password_reset, name="password_reset"),
    path("password/sent/", accounts.password_reset_done, name="password_reset_done"),
    path(
        "password/new/<uidb64>/<token>/",
        accounts.password_reset_confirm,
        name="password_reset_confirm",
    ),
    path("password/changed/", accounts.password_reset_complete, name="password_reset_complete"),
]
