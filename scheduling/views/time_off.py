"""The days on which one person of a crew is not there: adding, changing, dropping."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from scheduling.forms.crews import DaysOffForm
from scheduling.models import CrewMember, MemberTimeOff
from scheduling.selectors import crews as selectors
from scheduling.services import time_off as services


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def time_off_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add days on which a person of a crew is not there."""
    member = get_object_or_404(CrewMember.objects.select_related("crew"), pk=pk)
    form = DaysOffForm(request.POST or None)
    if form.is_valid():
        try:
            added = services.add_time_off(
                actor=signed_in(request),
                member=member,
                values=form.cleaned_data,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            _say_saved(request, added)
            return redirect("crew_member_edit", pk=pk)
    return _page(request, form, member)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def time_off_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change days on which a person is not there."""
    found = _time_off(pk)
    kept = {"first_day": found.first_day, "last_day": found.last_day, "reason": found.reason}
    form = DaysOffForm(request.POST or None, initial=kept)
    if form.is_valid():
        try:
            changed = services.change_time_off(
                actor=signed_in(request),
                time_off=found,
                values=form.cleaned_data,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            _say_saved(request, changed)
            return redirect("crew_member_edit", pk=changed.member_id)
    return _page(request, form, found.member, found)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def time_off_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Take time off away again."""
    found = _time_off(pk)
    services.drop_time_off(actor=signed_in(request), time_off=found, at=timezone.now())
    messages.success(request, f"{found.member} is there on these days after all.")
    return redirect("crew_member_edit", pk=found.member_id)


def _time_off(pk: int) -> MemberTimeOff:
    return get_object_or_404(MemberTimeOff.objects.select_related("member__crew"), pk=pk)


def _page(
    request: HttpRequest, form: DaysOffForm, member: CrewMember, found: MemberTimeOff | None = None
) -> HttpResponse:
    context = {"form": form, "member": member, "time_off": found}
    status = 422 if form.errors else 200
    return render(request, "scheduling/time_off.html", context, status=status)


def _say_saved(request: HttpRequest, time_off: MemberTimeOff) -> None:
    member = time_off.member
    messages.success(request, f"{member} is off on these days.")
    if standing := selectors.blocks_in(member.crew, time_off.first_day, time_off.last_day):
        work = "1 piece of work stands" if standing == 1 else f"{standing} pieces of work stand"
        messages.warning(
            request, f"{work} on the calendar of {member.crew} in this time: it has fewer people."
        )
