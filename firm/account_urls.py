"""Addresses of log-in, first run, settings, people, the record and kept mails."""

from django.urls import path
from django.views.generic import RedirectView

from firm.access import open_to_all
from firm.views import accounts, audit, backups, mail_settings, mails, people, settings, setup

# Browsers ask for it on pages without a head of ours, such as a file.
favicon = open_to_all(RedirectView.as_view(url="/static/img/mark.svg", permanent=True))

urlpatterns = [
    path("favicon.ico", favicon, name="favicon"),
    path("log-in/", accounts.login, name="login"),
    path("log-out/", accounts.logout, name="logout"),
    path("password/forgotten/", accounts.password_reset, name="password_reset"),
    path("password/sent/", accounts.password_reset_done, name="password_reset_done"),
    path(
        "password/new/<uidb64>/<token>/",
        accounts.password_reset_confirm,
        name="password_reset_confirm",
    ),
    path("set-up/", setup.first_run, name="first_run"),
    path("logo.png", settings.firm_logo, name="firm_logo"),
    path("settings/", settings.firm_settings, name="firm_settings"),
    path("settings/people/", people.users, name="users"),
    path("settings/people/new/", people.user_new, name="user_new"),
    path("settings/people/<int:pk>/", people.user_edit, name="user_edit"),
    path(
        "settings/people/<int:pk>/password/", people.user_password_link, name="user_password_link"
    ),
    path("settings/record/", audit.audit, name="audit"),
    path("settings/mail/", mail_settings.mail_settings, name="mail_settings"),
    path("settings/backup/", backups.backup_now, name="backup_now"),
    path("mail/", mails.mails, name="mails"),
    path("mail/<int:pk>/", mails.mail, name="mail"),
    path("mail/files/<int:pk>/", mails.mail_attachment, name="mail_attachment"),
]
