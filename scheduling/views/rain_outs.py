"""A day lost to rain: looking at what it moves, moving it, and telling the customers."""

import datetime as dt
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.measure.written import how_many
from firm.models import Role
from scheduling.forms.rain_outs import RainOutForm
from scheduling.models import RainOut, RainOutJob
from scheduling.selectors.rain_outs import LostDay, call_list, lost_day
from scheduling.services.rain_outs import (
    RainOutAsked,
    RainOutLook,
    carry_out_rain_out,
    look_at_rain_out,
    tick_told,
)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "HEAD", "POST"])
def rain_out(request: HttpRequest, date: dt.date) -> HttpResponse:
    """Show a day and what its rain would move; a POST that names what it saw moves it."""
    day = lost_day(date)
    is_sent = request.method == "POST"
    form = RainOutForm(request.POST if is_sent else None, initial=_initial(day, request))
    look = None
    if is_sent and form.is_valid():
        asked, now = RainOutAsked(date=date, **form.asked()), timezone.now()
        try:
            if mark := form.cleaned_data["mark"]:
                done = carry_out_rain_out(asked=asked, mark=mark, actor=signed_in(request), now=now)
                messages.success(request, f"{how_many(done.jobs.count(), 'job')} seen to.")
                return redirect("rain_out_calls", pk=done.pk)
            look = look_at_rain_out(asked=asked, now=now)
        except Refusal as refusal:
            add_refusal(form, refusal)
            look = _look_again(asked, now)
    context = {"day": day, "form": form, "look": look, "mark": look.mark if look else ""}
    status = 422 if form.errors else 200
    return render(request, "scheduling/rain_out.html", context, status=status)


def _initial(day: LostDay, request: HttpRequest) -> dict[str, Any]:
    """Return what the form shows first: the rain written down, the crew that was come from."""
    crew = request.GET.get("crew", "")
    return {"rain_in": day.rain_in, "crew": crew if crew.isascii() and crew.isdecimal() else ""}


def _look_again(asked: RainOutAsked, now: dt.datetime) -> RainOutLook | None:
    """Return what would move by now, where anything would."""
    try:
        return look_at_rain_out(asked=asked, now=now)
    except Refusal:
        return None


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def rain_out_calls(request: HttpRequest, pk: int) -> HttpResponse:
    """List the customers to tell of a rain-out; the page prints."""
    row = get_object_or_404(RainOut.objects.select_related("crew", "made_by"), pk=pk)
    return render(request, "scheduling/rain_out_calls.html", {"list": call_list(row)})


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def rain_out_told(request: HttpRequest, pk: int) -> HttpResponse:
    """Tick a customer as told, or take the tick away."""
    row = get_object_or_404(RainOutJob, pk=pk)
    is_told = request.POST.get("told") != "no"
    tick_told(row=row, is_told=is_told, actor=signed_in(request), now=timezone.now())
    return redirect("rain_out_calls", pk=row.rain_out_id)
