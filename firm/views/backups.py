"""Asking for a backup from the settings."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from firm.access import requires, signed_in
from firm.models import Role
from firm.services.backup import ask_for_backup


@requires(Role.OWNER)
@require_POST
def backup_now(request: HttpRequest) -> HttpResponse:
    """Have the worker make a backup."""
    if ask_for_backup(actor=signed_in(request), now=timezone.now()):
        messages.success(request, "The backup is being made. It shows below when it is done.")
    else:
        messages.info(request, "A backup is being made already.")
    return redirect("firm_settings")
