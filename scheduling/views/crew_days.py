"""A block of the calendar: moved, changed, dropped and added by hand."""

import datetime as dt
from collections.abc import Callable
from functools import wraps

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from firm.views.meanwhile import say_kept_meanwhile
from scheduling.forms.crew_days import CrewDayForm, MoveForm, NewCrewDayForm
from scheduling.models import CrewDay, FenceJob
from scheduling.services.crew_days import add_crew_day, change_crew_day
from scheduling.services.overrides import BreachRefusal, NoteRefusal
from scheduling.services.planning import drop_block

GONE = (
    "This block is gone from the calendar: a plan was taken meanwhile, or somebody took it off. "
    "Nothing has been changed."
)


def _told_when_gone(
    view: Callable[[HttpRequest, int], HttpResponse],
) -> Callable[[HttpRequest, int], HttpResponse]:
    """Answer what an old page sends about a block that is gone with the week it asked for."""

    @wraps(view)
    def checked(request: HttpRequest, pk: int) -> HttpResponse:
        try:
            return view(request, pk)
        except (Http404, CrewDay.DoesNotExist):
            if request.method != "POST":
                raise
        if _wants_text(request):
            return HttpResponse(GONE, status=422, content_type="text/plain")
        messages.error(request, GONE)
        asked = MoveForm(request.POST)
        asked.is_valid()
        day = asked.cleaned_data.get("date")
        return redirect(_week_of(day) if day else "week")

    return checked


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
@_told_when_gone
def crew_day(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one block and change where it stands; what breaks a rule is refused with the reason."""
    block = _block(pk)
    form = CrewDayForm(
        request.POST or None,
        kind=block.phase.kind,
        crew=block.crew,
        initial=CrewDayForm.initial_of(block),
    )
    bar: Refusal | None = None
    if form.is_valid():
        try:
            moved = change_crew_day(
                block=block,
                values=form.cleaned_data,
                actor=signed_in(request),
                now=timezone.now(),
                override_note=_override_note(request, form),
            )
        except Refusal as refusal:
            bar = _refuse(form, refusal)
        else:
            messages.success(request, f"{_name(block)} is saved.")
            say_kept_meanwhile(request, form)
            return redirect(_week_of(moved.date))
    return _crew_day_page(request, block, form, bar)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
@_told_when_gone
def crew_day_move(request: HttpRequest, pk: int) -> HttpResponse:
    """Move a block to another day; refused, its page shows the day asked for and the reason.

    A script that asks gets the reason alone as text, and the new week's address in a header.
    """
    block, asked = _block(pk), MoveForm(request.POST)
    bar: Refusal | None = None
    wants_text = _wants_text(request)
    form = CrewDayForm(
        _moved_values(block, request),
        kind=block.phase.kind,
        crew=block.crew,
        initial=CrewDayForm.initial_of(block),
    )
    if asked.is_valid() and form.is_valid():
        values = {"date": asked.cleaned_data["date"]}
        if asked.cleaned_data["crew"]:
            values["crew"] = asked.cleaned_data["crew"]
        try:
            moved = change_crew_day(
                block=block, values=values, actor=signed_in(request), now=timezone.now()
            )
        except Refusal as refusal:
            bar = _refuse(form, refusal)
        else:
            messages.success(request, f"{_name(block)} stands on {_day(moved.date)}.")
            if wants_text:
                return HttpResponse(status=204)
            return redirect(_week_of(moved.date))
    if wants_text:
        said = f"{_reasons(asked, form)} {_way_on(request, bar)}".strip()
        return HttpResponse(said, status=422, content_type="text/plain")
    return _crew_day_page(request, block, form, bar)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
@_told_when_gone
def crew_day_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a block off the calendar."""
    block = _block(pk)
    try:
        drop_block(block=block, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        messages.error(request, str(refusal))
        return redirect("crew_day", pk=pk)
    messages.success(request, f"{_name(block)} on {_day(block.date)} is off the calendar.")
    if request.POST.get("from") == "plan_changes":
        return redirect("plan_changes")
    return redirect(_week_of(block.date))


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def crew_day_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a phase of a job on a day by hand."""
    job = get_object_or_404(FenceJob.objects.select_related("customer", "site"), pk=pk)
    today = timezone.localdate()
    form = NewCrewDayForm(
        request.POST or None, job=job, initial={"hours": 8, "date": today + dt.timedelta(days=1)}
    )
    bar: Refusal | None = None
    if form.is_valid():
        try:
            added = add_crew_day(
                job=job,
                values=form.cleaned_data,
                actor=signed_in(request),
                now=timezone.now(),
                override_note=_override_note(request, form),
            )
        except Refusal as refusal:
            bar = _refuse(form, refusal)
        else:
            messages.success(request, f"{job} stands on {_day(added.date)}.")
            return redirect(_week_of(added.date))
    context = {"job": job, "form": form, "override": _override_of(request, form, bar)}
    status = 422 if form.errors else 200
    return render(request, "scheduling/crew_day_add.html", context, status=status)


def _block(pk: int) -> CrewDay:
    rows = CrewDay.objects.select_related("job__customer", "job__site", "phase", "crew", "machine")
    return get_object_or_404(rows, pk=pk)


def _wants_text(request: HttpRequest) -> bool:
    """Say whether a script asks, which shows a reason by itself."""
    return request.headers.get("X-Requested-With") == "fetch"


def _moved_values(block: CrewDay, request: HttpRequest) -> dict[str, str]:
    """Return what the block's own form would send after the move."""
    return {
        "crew": request.POST.get("crew") or str(block.crew_id),
        "date": request.POST.get("date", ""),
        "hours": str(block.hours),
        "start": f"{block.start:%H:%M}" if block.start else "",
        "air_f": "" if block.air_f is None else f"{block.air_f:g} F",
        "note": block.note,
    }


def _reasons(*forms: MoveForm | CrewDayForm) -> str:
    """Return every reason once, in one paragraph."""
    said = [str(error) for form in forms for errors in form.errors.values() for error in errors]
    return " ".join(dict.fromkeys(said))


def _way_on(request: HttpRequest, bar: Refusal | None) -> str:
    """Return how a block still gets where it was dragged to, where a rule bars it."""
    if not isinstance(bar, BreachRefusal) or not bar.may_be_overridden:
        return ""
    if signed_in(request).is_owner:
        return "To place it there all the same, open the block, give it that day and say why."
    return "The owner may override this with a note."


def _refuse(form: CrewDayForm, refusal: Refusal) -> Refusal:
    """Show a refusal, and where only the note is missing what the owner would answer for too."""
    add_refusal(form, refusal)
    if not isinstance(refusal, NoteRefusal):
        return refusal
    add_refusal(form, refusal.bar)
    return refusal.bar


def _override_note(request: HttpRequest, form: CrewDayForm) -> str | None:
    """Return why a block is to stand against a rule; None where nobody asked for that."""
    asked = request.POST.get("override") == "yes"
    return form.cleaned_data["override_note"] if asked else None


def _override_of(request: HttpRequest, form: CrewDayForm, bar: Refusal | None) -> str:
    """Return what the page offers where a rule bars: "owner", "ask" whom, or nothing.

    A note that was typed keeps its field, whatever else is refused.
    """
    is_breach = isinstance(bar, BreachRefusal) and bar.may_be_overridden
    if not is_breach and not form.data.get("override_note") and "override_note" not in form.errors:
        return ""
    return "owner" if signed_in(request).is_owner else "ask"


def _crew_day_page(
    request: HttpRequest, block: CrewDay, form: CrewDayForm, bar: Refusal | None
) -> HttpResponse:
    context = {
        "row": block,
        "job": block.job,
        "form": form,
        "week": _week_of(block.date),
        "override": _override_of(request, form, bar),
    }
    status = 422 if form.errors else 200
    return render(request, "scheduling/crew_day.html", context, status=status)


def _week_of(day: dt.date) -> str:
    return f"{reverse('week')}?from={day.isoformat()}"


def _name(block: CrewDay) -> str:
    return f"{block.job}, {block.phase.get_kind_display().lower()}"


def _day(day: dt.date) -> str:
    return f"{day:%a %b} {day.day}"
