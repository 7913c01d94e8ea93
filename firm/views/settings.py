"""The owner's settings of the firm, and its logo."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from firm.access import open_to_all, requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.forms.profile import ProfileForm
from firm.models import Role
from firm.selectors.backups import backup_standing
from firm.selectors.profile import firm_profile
from firm.services.backup import BACKUP_JOB
from firm.services.profile import save_profile
from firm.views.refusing import page_with_forms


@requires(Role.OWNER)
@require_http_methods(["GET", "POST"])
def firm_settings(request: HttpRequest) -> HttpResponse:
    """Show and take the firm's settings."""
    data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    form = ProfileForm(data, files, instance=firm_profile())
    if form.is_valid():
        try:
            save_profile(actor=signed_in(request), changes=form.changes(), at=timezone.now())
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, "The settings are saved.")
            return redirect("firm_settings")
    context = {
        "form": form,
        "logo_lost": bool(files) and form.is_bound,
        "backup": backup_standing(kind=BACKUP_JOB, now=timezone.now()),
    }
    return page_with_forms(request, "firm/settings.html", context)


@open_to_all
@require_safe
def firm_logo(request: HttpRequest) -> HttpResponseBase:
    """Hand out the logo: it stands on papers that strangers read."""
    logo = firm_profile().logo
    if not logo or not logo.storage.exists(str(logo.name)):
        raise Http404
    return FileResponse(
        logo.open("rb"), content_type="image/png", headers={"Cache-Control": "max-age=300"}
    )
