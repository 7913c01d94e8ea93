"""What moved and why: the list, ticking it as seen, and moving what fits no longer."""

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.models import Role
from scheduling.models import CrewDay, PlanChange
from scheduling.selectors.plan_changes import changes_view
from scheduling.services.first_days import move_to_first_day
from scheduling.services.plan_changes import tick_seen


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def plan_changes(request: HttpRequest) -> HttpResponse:
    """List what moved since somebody last looked, and the blocks that fit no longer."""
    context = {"view": changes_view(now=timezone.now())}
    return render(request, "scheduling/plan_changes.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def plan_changes_seen(request: HttpRequest) -> HttpResponse:
    """Tick all that the page showed as seen."""
    tick_seen(as_of=_as_of(request), actor=signed_in(request), now=timezone.now())
    return redirect("plan_changes")


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def plan_change_seen(request: HttpRequest, pk: int) -> HttpResponse:
    """Tick one change as seen."""
    row = get_object_or_404(PlanChange, pk=pk)
    tick_seen(changes=[row.pk], as_of=_as_of(request), actor=signed_in(request), now=timezone.now())
    return redirect("plan_changes")


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def crew_day_first(request: HttpRequest, pk: int) -> HttpResponse:
    """Move a block to the first day on which it breaks nothing."""
    block = get_object_or_404(CrewDay.objects.select_related("job", "phase"), pk=pk)
    name = f"{block.job}, {block.phase.get_kind_display().lower()}"
    try:
        moved = move_to_first_day(block=block, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        messages.error(request, f"{name} is not moved. {refusal}")
    else:
        start = f" from {moved.start:%H:%M}" if moved.start else ""
        messages.success(
            request, f"{name} stands on {moved.date:%a %b} {moved.date.day}{start} now."
        )
    return redirect("plan_changes")


def _as_of(request: HttpRequest) -> dt.datetime:
    """Return when the page was drawn: what moved again after that stays unseen."""
    now = timezone.now()
    try:
        drawn = dt.datetime.fromisoformat(request.POST.get("as_of", ""))
    except ValueError:
        return now
    return min(drawn, now) if drawn.tzinfo else now
