"""Enquiries: the list by state, taking one, one enquiry's page, changing it."""

from dataclasses import dataclass

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from firm.access import requires, signed_in
from firm.forms.enquiries import EnquiryForm, NewEnquiryForm
from firm.models import Customer, Enquiry, Role
from firm.selectors.enquiries import OPEN_STATES, enquiries_in, enquiry_counts
from firm.services.enquiries import change_enquiry, take_enquiry
from firm.views.refusing import page_with_forms

ENQUIRIES_PER_PAGE = 50


@dataclass(frozen=True, kw_only=True, slots=True)
class StateLink:
    """A state to narrow the list to, and how many enquiries are in it."""

    state: str
    name: str
    count: int


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def enquiries(request: HttpRequest) -> HttpResponse:
    """List enquiries that are open, or those in one state."""
    state = request.GET.get("state", "")
    state = state if state in Enquiry.State.values else ""
    page = Paginator(enquiries_in(state), ENQUIRIES_PER_PAGE).get_page(request.GET.get("page"))
    return render(
        request, "firm/enquiries.html", {"page": page, "state": state, "links": _state_links()}
    )


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def enquiry_new(request: HttpRequest) -> HttpResponse:
    """Take an enquiry, from a customer or from someone new."""
    key = request.GET.get("customer", "")
    known = Customer.objects.filter(pk=key).first() if key.isdecimal() else None
    form = NewEnquiryForm(request.POST or None, initial={"customer": known} if known else None)
    if known:
        form.offer_only(known)
    if form.is_valid():
        taken = take_enquiry(
            actor=signed_in(request),
            asker=form.asker(),
            values=form.enquiry_values(),
            at=timezone.now(),
        )
        messages.success(request, "The enquiry is written down.")
        return redirect("enquiry", pk=taken.pk)
    return page_with_forms(request, "firm/enquiry_form.html", {"form": form})


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def enquiry(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one enquiry."""
    found = get_object_or_404(Enquiry.objects.select_related("customer", "site", "taken_by"), pk=pk)
    return render(request, "firm/enquiry.html", {"enquiry": found})


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def enquiry_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change an enquiry."""
    found = get_object_or_404(Enquiry.objects.select_related("customer"), pk=pk)
    form = EnquiryForm(request.POST or None, instance=found)
    if form.is_valid():
        change_enquiry(
            actor=signed_in(request),
            enquiry=found,
            values=form.cleaned_data,
            at=timezone.now(),
        )
        messages.success(request, "The enquiry is saved.")
        return redirect("enquiry", pk=pk)
    return page_with_forms(request, "firm/enquiry_form.html", {"form": form, "enquiry": found})


def _state_links() -> list[StateLink]:
    counts = enquiry_counts()
    open_count = sum(counts.get(state, 0) for state in OPEN_STATES)
    return [
        StateLink(state="", name="Open", count=open_count),
        *(
            StateLink(state=state.value, name=state.label, count=counts.get(state.value, 0))
            for state in Enquiry.State
        ),
    ]
