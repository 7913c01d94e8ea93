"""Clearances of a site, and what utilities answer to a locate ticket."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.clearances import ClearanceForm, NewClearanceForm, UtilityAnswerForm
from firm.forms.fields import add_refusal
from firm.models import Clearance, JobSite, Role, UtilityAnswer
from firm.selectors.clearances import computed_dates, shown_clearance, window_to_call
from firm.services.clearances import (
    add_clearance,
    add_utility_answer,
    change_clearance,
    change_utility_answer,
)
from firm.views.refusing import page_with_forms


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def clearance_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a further clearance to a site."""
    site = get_object_or_404(JobSite, pk=pk)
    form = NewClearanceForm(request.POST or None)
    if form.is_valid():
        try:
            added = add_clearance(
                actor=signed_in(request), site=site, values=form.cleaned_data, at=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{added} is added.")
            return redirect("clearance_edit", pk=added.pk)
    return page_with_forms(request, "firm/clearance_new.html", {"form": form, "site": site})


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def clearance_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Show and change one clearance; for a locate ticket with its dates and answers."""
    found = _clearance(pk)
    form = ClearanceForm(
        request.POST or None, instance=Clearance.objects.get(pk=pk), kind=found.kind
    )
    if form.is_valid():
        try:
            changed = change_clearance(
                actor=signed_in(request),
                clearance=found,
                values=form.cleaned_data,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{changed} is saved.")
            if changed.kind == Clearance.Kind.LOCATE:
                return redirect("clearance_edit", pk=pk)
            return redirect("site", pk=changed.site_id)
    return _clearance_page(request, found, form, UtilityAnswerForm())


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def utility_answer_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down what a utility answered."""
    found = _clearance(pk)
    form = UtilityAnswerForm(request.POST or None)
    if form.is_valid():
        try:
            added = add_utility_answer(
                actor=signed_in(request),
                clearance=found,
                values=form.cleaned_data,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{added} is written down.")
            return redirect("clearance_edit", pk=pk)
    return _clearance_page(request, found, ClearanceForm(instance=found, kind=found.kind), form)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def utility_answer_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what a utility answered."""
    answer = get_object_or_404(UtilityAnswer.objects.select_related("clearance__site"), pk=pk)
    form = UtilityAnswerForm(request.POST or None, instance=answer)
    if form.is_valid():
        try:
            changed = change_utility_answer(
                actor=signed_in(request),
                answer=answer,
                values=form.cleaned_data,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{changed} is written down.")
            return redirect("clearance_edit", pk=changed.clearance_id)
    return page_with_forms(
        request, "firm/utility_answer_form.html", {"form": form, "clearance": answer.clearance}
    )


def _clearance(pk: int) -> Clearance:
    rows = Clearance.objects.select_related("site__jurisdiction", "site__customer")
    return get_object_or_404(rows.prefetch_related("answers"), pk=pk)


def _clearance_page(
    request: HttpRequest, found: Clearance, form: ClearanceForm, answer_form: UtilityAnswerForm
) -> HttpResponse:
    jurisdiction = found.site.jurisdiction
    return page_with_forms(
        request,
        "firm/clearance.html",
        {
            "clearance": found,
            "site": found.site,
            "jurisdiction": jurisdiction,
            "form": form,
            "answer_form": answer_form,
            "shown": shown_clearance(found, jurisdiction, today=timezone.localdate()),
            "by_rule": computed_dates(
                jurisdiction, asked_on=found.asked_on, stated_start_on=found.stated_start_on
            ),
            "call_window": window_to_call(found, jurisdiction),
            "is_locate": found.kind == Clearance.Kind.LOCATE,
        },
    )
