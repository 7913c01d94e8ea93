"""The list of skills, what asks for them, and how many people phases ask for."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from scheduling.forms.skills import AskForm, PeopleForm, SkillForm
from scheduling.models import Skill, SkillAsked
from scheduling.selectors.skills import skill_rows
from scheduling.services import skills as services


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def skills(request: HttpRequest) -> HttpResponse:
    """Show the skills and what asks for them; add one."""
    form = SkillForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            added = services.add_skill(
                actor=signed_in(request), name=form.cleaned_data["name"], at=timezone.now()
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{added} is added. Say on a person's page who has it.")
            return redirect("skills")
    return _page(request, form)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def skill_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a skill off the list."""
    skill = get_object_or_404(Skill, pk=pk)
    try:
        services.drop_skill(actor=signed_in(request), skill=skill, at=timezone.now())
    except Refusal as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"{skill} is off the list.")
    return redirect("skills")


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def skill_ask(request: HttpRequest) -> HttpResponse:
    """Have a phase ask for a skill."""
    form = AskForm(request.POST)
    if form.is_valid():
        try:
            asked = services.ask_for_skill(
                actor=signed_in(request), at=timezone.now(), **form.cleaned_data
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{asked.get_phase_display()} asks for {asked.skill}.")
            return redirect("skills")
    return _page(request, form)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def skill_ask_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a phase ask for a skill no more."""
    asked = get_object_or_404(SkillAsked.objects.select_related("skill"), pk=pk)
    services.stop_asking(actor=signed_in(request), asked=asked, at=timezone.now())
    messages.success(request, f"{asked.get_phase_display()} asks for {asked.skill} no more.")
    return redirect("skills")


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def people_asked(request: HttpRequest) -> HttpResponse:
    """Take how many people each phase asks for."""
    form = PeopleForm(request.POST)
    if form.is_valid():
        services.ask_for_people(
            actor=signed_in(request), people=form.cleaned_data, at=timezone.now()
        )
        messages.success(request, "How many people phases ask for is saved.")
        return redirect("skills")
    return _page(request, form)


def _page(request: HttpRequest, form: SkillForm | AskForm | PeopleForm) -> HttpResponse:
    """Show the page with one of its forms as it was typed."""
    context = {
        "rows": skill_rows(),
        "add": form if isinstance(form, SkillForm) else SkillForm(),
        "ask": form if isinstance(form, AskForm) else AskForm(),
        "people": form if isinstance(form, PeopleForm) else PeopleForm(),
        "form": form,
    }
    return render(request, "scheduling/skills.html", context, status=422 if form.errors else 200)
