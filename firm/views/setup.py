"""The first run: the firm and its owner, set up on one page, once."""

from django.contrib import messages
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from firm.access import open_to_all
from firm.errors import Refusal
from firm.forms.accounts import FirstOwnerForm
from firm.forms.profile import ProfileForm, first_run_initial
from firm.models import FirmProfile
from firm.selectors.users import needs_first_run
from firm.services.profile import set_up_firm
from firm.views.refusing import page_with_forms

LOG_IN_BACKEND = "django.contrib.auth.backends.ModelBackend"


@open_to_all
@never_cache
@require_http_methods(["GET", "POST"])
def first_run(request: HttpRequest) -> HttpResponse:
    """Show and take the set-up page while nobody owns this installation."""
    if not needs_first_run():
        return redirect("login")
    data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    form = ProfileForm(data, files, instance=FirmProfile(), initial=first_run_initial())
    owner_form = FirstOwnerForm(data, prefix="owner")
    # Both are checked, so that one round shows every field that needs another look.
    if all([form.is_valid(), owner_form.is_valid()]):
        try:
            owner = set_up_firm(
                values=form.values(),
                owner=owner_form.details(),
                password=owner_form.cleaned_data["password"],
                at=timezone.now(),
            )
        except Refusal as refusal:
            form.add_error(None, refusal.message)
        else:
            login(request, owner, backend=LOG_IN_BACKEND)
            messages.success(request, f"{form.cleaned_data['name']} is set up.")
            return redirect("/")
    return page_with_forms(
        request,
        "firm/first_run.html",
        {"form": form, "owner_form": owner_form, "logo_lost": bool(files) and form.is_bound},
    )
