"""Crews, their people, their days off, and machines: the list, adding and changing."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from firm.views.meanwhile import say_kept_meanwhile
from scheduling.forms.crews import CrewForm, DaysOffForm, MachineForm, MemberForm
from scheduling.models import Crew, CrewDaysOff, CrewMember, Machine
from scheduling.selectors import crews as selectors
from scheduling.services import crews as services


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def crews(request: HttpRequest) -> HttpResponse:
    """List crews and machines."""
    context = {"crews": selectors.all_crews(), "machines": selectors.machines()}
    return render(request, "scheduling/crews.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def crew_new(request: HttpRequest) -> HttpResponse:
    """Add a crew."""
    form = CrewForm(request.POST or None)
    if form.is_valid():
        try:
            added = services.add_crew(
                actor=signed_in(request), values=form.cleaned_data, at=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{added} is added. Say who works in it.")
            return redirect("crew_edit", pk=added.pk)
    return render(request, "scheduling/crew_new.html", {"form": form}, status=_status(form))


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def crew_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Show and change one crew, with its people and its days off."""
    found, today = get_object_or_404(Crew, pk=pk), timezone.localdate()
    form = CrewForm(request.POST or None, instance=get_object_or_404(Crew, pk=pk))
    if form.is_valid():
        try:
            changed = services.change_crew(
                actor=signed_in(request), crew=found, values=form.cleaned_data, at=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{changed} is saved.")
            say_kept_meanwhile(request, form)
            return redirect("crews")
    context = {
        "crew": found,
        "form": form,
        "members": selectors.with_time_off_ahead(selectors.members_of(found), today=today),
        "days_off": selectors.days_off_ahead(found, today=today),
        "sees_cost": signed_in(request).is_owner,
    }
    return render(request, "scheduling/crew.html", context, status=_status(form))


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def crew_member_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a person to a crew."""
    crew, person = get_object_or_404(Crew, pk=pk), signed_in(request)
    form = MemberForm(request.POST or None, sees_cost=person.is_owner)
    if form.is_valid():
        try:
            added = services.add_member(
                actor=person, crew=crew, values=form.cleaned_data, at=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{added} works in {crew}.")
            return redirect("crew_edit", pk=pk)
    context = {"form": form, "crew": crew}
    return render(request, "scheduling/crew_member.html", context, status=_status(form))


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def crew_member_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a person of a crew."""
    found, person = _member(pk), signed_in(request)
    form = MemberForm(request.POST or None, instance=_member(pk), sees_cost=person.is_owner)
    if form.is_valid():
        try:
            changed = services.change_member(
                actor=person, member=found, values=form.cleaned_data, at=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{changed} is saved.")
            return redirect("crew_edit", pk=changed.crew_id)
    context = {
        "form": form,
        "crew": found.crew,
        "member": found,
        "time_off": selectors.time_off_ahead(found, today=timezone.localdate()),
    }
    return render(request, "scheduling/crew_member.html", context, status=_status(form))


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def days_off_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add days on which a crew does not work."""
    crew, form = get_object_or_404(Crew, pk=pk), DaysOffForm(request.POST or None)
    if form.is_valid():
        try:
            added = services.add_days_off(
                actor=signed_in(request), crew=crew, values=form.cleaned_data, at=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            _say_saved(request, added)
            return redirect("crew_edit", pk=pk)
    context = {"form": form, "crew": crew}
    return render(request, "scheduling/days_off.html", context, status=_status(form))


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def days_off_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change days off."""
    found = _days_off(pk)
    kept = {"first_day": found.first_day, "last_day": found.last_day, "reason": found.reason}
    form = DaysOffForm(request.POST or None, initial=kept)
    if form.is_valid():
        try:
            changed = services.change_days_off(
                actor=signed_in(request),
                days_off=found,
                values=form.cleaned_data,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            _say_saved(request, changed)
            return redirect("crew_edit", pk=changed.crew_id)
    context = {"form": form, "crew": found.crew, "days_off": found}
    return render(request, "scheduling/days_off.html", context, status=_status(form))


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def days_off_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Take days off away again."""
    found = _days_off(pk)
    services.drop_days_off(actor=signed_in(request), days_off=found, at=timezone.now())
    messages.success(request, f"{found.crew} works on these days after all.")
    return redirect("crew_edit", pk=found.crew_id)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def machine_new(request: HttpRequest) -> HttpResponse:
    """Add a machine."""
    form = MachineForm(request.POST or None)
    if form.is_valid():
        try:
            added = services.add_machine(
                actor=signed_in(request), values=form.cleaned_data, at=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{added} is added.")
            return redirect("crews")
    return render(request, "scheduling/machine.html", {"form": form}, status=_status(form))


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def machine_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a machine."""
    found = get_object_or_404(Machine, pk=pk)
    form = MachineForm(request.POST or None, instance=get_object_or_404(Machine, pk=pk))
    if form.is_valid():
        try:
            changed = services.change_machine(
                actor=signed_in(request),
                machine=found,
                values=form.cleaned_data,
                at=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{changed} is saved.")
            return redirect("crews")
    context = {"form": form, "machine": found}
    return render(request, "scheduling/machine.html", context, status=_status(form))


def _member(pk: int) -> CrewMember:
    return get_object_or_404(CrewMember.objects.select_related("crew"), pk=pk)


def _days_off(pk: int) -> CrewDaysOff:
    return get_object_or_404(CrewDaysOff.objects.select_related("crew"), pk=pk)


def _say_saved(request: HttpRequest, days_off: CrewDaysOff) -> None:
    messages.success(request, f"{days_off.crew} is off on these days.")
    first, last = days_off.first_day, days_off.last_day
    if standing := selectors.blocks_in(days_off.crew, first, last):
        days = "1 piece of work stands" if standing == 1 else f"{standing} pieces of work stand"
        messages.warning(request, f"{days} on the calendar in this time: move them.")


def _status(form: CrewForm | MemberForm | DaysOffForm | MachineForm) -> int:
    return 422 if form.errors else 200
