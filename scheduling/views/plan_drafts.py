"""A plan of all open jobs: having it worked out, looking at it, taking it or putting it aside."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.measure.written import how_many
from firm.models import Role
from scheduling.forms.plan_drafts import PlanForm
from scheduling.models import PlanDraft
from scheduling.selectors.plan_drafts import aim_words, draft_view, open_draft
from scheduling.selectors.plan_landing import blocks_ahead, first_day_changed
from scheduling.services.plan_drafts import ask_for_plan, drop_plan, stop_planning, take_plan


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "HEAD", "POST"])
def plan(request: HttpRequest) -> HttpResponse:
    """Show how far the plan is or what it comes to; a POST has a new one worked out."""
    now = timezone.now()
    form = PlanForm(request.POST if request.method == "POST" else None)
    if form.is_bound and not _knows_what_it_puts_aside(request):
        form.add_error(
            None, "A plan is ready meanwhile: look at it below. A new one puts it aside."
        )
    if form.is_valid():
        try:
            ask_for_plan(actor=signed_in(request), seconds=form.cleaned_data["seconds"], now=now)
        except Refusal as refusal:
            form.add_error(refusal.field or None, refusal.message)
        else:
            return redirect("plan")
    draft = open_draft()
    view = draft and draft_view(draft, today=timezone.localdate(now))
    context = {
        "form": form,
        "draft": draft,
        "view": view,
        "has_several_reasons": view and any(len(row.reasons) > 1 for row in view.waiting),
        "progress": draft and aim_words(draft),
    }
    status = 422 if form.is_bound else 200
    return render(request, "scheduling/plan.html", context, status=status)


def _knows_what_it_puts_aside(request: HttpRequest) -> bool:
    """Say whether the page that asks for a new plan showed the one that is ready, if any is."""
    draft = open_draft()
    if draft is None or draft.state != PlanDraft.State.READY:
        return True
    return request.POST.get("puts_aside") == str(draft.pk)


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def plan_progress(request: HttpRequest) -> HttpResponse:
    """Say how far the plan is; when it is over the page loads anew."""
    draft = open_draft()
    if draft is None or draft.state != PlanDraft.State.WORKING or draft.is_lost:
        return HttpResponse(headers={"HX-Refresh": "true"})
    context = {"draft": draft, "progress": aim_words(draft)}
    return render(request, "scheduling/_plan_progress.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def plan_stop(request: HttpRequest, pk: int) -> HttpResponse:
    """End the search with the best plan so far."""
    draft = get_object_or_404(PlanDraft, pk=pk)
    stop_planning(draft=draft, actor=signed_in(request), now=timezone.now())
    return redirect("plan")


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def plan_take(request: HttpRequest, pk: int) -> HttpResponse:
    """Write a plan onto the calendar, and show the week in which it begins to change it."""
    draft, now = get_object_or_404(PlanDraft, pk=pk), timezone.now()
    before = blocks_ahead(now=now)
    try:
        count = take_plan(draft=draft, actor=signed_in(request), now=now)
    except Refusal as refusal:
        messages.error(request, f"The plan was not taken. {refusal}")
        return redirect("plan")
    messages.success(request, f"The plan is on the calendar: {how_many(count, 'block')}.")
    first = first_day_changed(before, blocks_ahead(now=now))
    return redirect(reverse("week") + (f"?from={first.isoformat()}" if first else ""))


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def plan_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a plan aside."""
    draft = get_object_or_404(PlanDraft, pk=pk)
    try:
        drop_plan(draft=draft, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The plan was put aside; the calendar stays as it was.")
    return redirect("plan")
