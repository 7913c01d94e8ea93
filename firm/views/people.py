"""The people of the firm: added, changed and switched off by the owner."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.accounts import PersonForm
from firm.forms.fields import add_refusal
from firm.models import Role, User
from firm.selectors.users import everyone
from firm.services.users import add_person, change_person, send_password_link
from firm.views.refusing import page_with_forms


@requires(Role.OWNER)
@require_safe
def users(request: HttpRequest) -> HttpResponse:
    """List everyone."""
    return render(request, "firm/people.html", {"people": everyone()})


@requires(Role.OWNER)
@require_http_methods(["GET", "POST"])
def user_new(request: HttpRequest) -> HttpResponse:
    """Add someone, and send the link to choose a password."""
    form = PersonForm(request.POST or None)
    del form.fields["is_active"]
    if form.is_valid():
        actor, now = signed_in(request), timezone.now()
        try:
            person = add_person(actor=actor, details=form.details(), password=None, at=now)
            link = send_password_link(actor=actor, person=person, at=now)
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            return render(request, "firm/password_link.html", {"person": person, "link": link})
    return page_with_forms(request, "firm/person_form.html", {"form": form})


@requires(Role.OWNER)
@require_http_methods(["GET", "POST"])
def user_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change someone's details or role, or switch the log-in off."""
    person = get_object_or_404(User, pk=pk)
    form = PersonForm(request.POST or None, instance=person)
    if form.is_valid():
        try:
            change_person(
                actor=signed_in(request),
                person=person,
                details=form.details(),
                is_active=form.cleaned_data["is_active"],
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{form.cleaned_data['first_name']} is saved.")
            return redirect("users")
    return page_with_forms(request, "firm/person_form.html", {"form": form, "person_pk": pk})


@requires(Role.OWNER)
@require_POST
def user_password_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Send someone a link to choose a new password, and show it to the owner."""
    person = get_object_or_404(User, pk=pk)
    try:
        link = send_password_link(actor=signed_in(request), person=person, at=timezone.now())
    except Refusal as refusal:
        messages.error(request, refusal.message)
        return redirect("users")
    return render(request, "firm/password_link.html", {"person": person, "link": link})
