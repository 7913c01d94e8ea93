"""Where mail goes, and a test of whether it arrives."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from firm.access import requires, signed_in
from firm.forms.mail_test import MailTestForm
from firm.models import Role
from firm.services.mail_test import TIMEOUT_S, send_test_mail


@requires(Role.OWNER)
@require_http_methods(["GET", "POST"])
def mail_settings(request: HttpRequest) -> HttpResponse:
    """Show where mail goes; send a test mail at once and say what happened."""
    person = signed_in(request)
    form = MailTestForm(request.POST or None, initial={"to": person.email})
    outcome, status = None, 200
    if request.method == "POST":
        if form.is_valid():
            outcome = send_test_mail(to=form.cleaned_data["to"], actor=person, now=timezone.now())
        else:
            status = 422
    context = {
        "form": form,
        "outcome": outcome,
        "host": settings.EMAIL_HOST,
        "port": settings.EMAIL_PORT,
        "tls": settings.EMAIL_USE_TLS,
        "user_name": settings.EMAIL_HOST_USER,
        "sender": settings.DEFAULT_FROM_EMAIL,
        "folder": settings.EMAIL_FILE_PATH,
        "timeout_s": TIMEOUT_S,
    }
    return render(request, "firm/mail_settings.html", context, status=status)
