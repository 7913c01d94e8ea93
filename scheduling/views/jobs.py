"""The pages of jobs: the list, and one job with what it waits for, its days and its preparation."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from firm.views.meanwhile import say_kept_meanwhile
from scheduling.forms.drying import DryingForm
from scheduling.forms.jobs import CallOffForm
from scheduling.forms.prepare import PrepareForms
from scheduling.models import FenceJob
from scheduling.selectors import jobs as selectors
from scheduling.selectors.pour_weather import pour_weather
from scheduling.selectors.reach import jobs_within_reach
from scheduling.services.drying import write_down_drying
from scheduling.services.job_details import Preparation, prepare_job
from scheduling.services.jobs import call_off_job
from scheduling.services.planning import place_job

JOBS_PER_PAGE = 50


def _job(request: HttpRequest, pk: int) -> FenceJob:
    found = selectors.job_with_clearances(pk, signed_in(request))
    if found is None:
        raise Http404
    return found


@requires()
@require_safe
def job_list(request: HttpRequest) -> HttpResponse:
    """List the jobs in a state, those still to be done unless another is asked for."""
    state = request.GET.get("state", "")
    if state not in FenceJob.State.values:
        state = FenceJob.State.TO_DO.value
    jobs = selectors.jobs_in_state(state, within=jobs_within_reach(signed_in(request)))
    found = Paginator(jobs, JOBS_PER_PAGE)
    page = found.get_page(request.GET.get("page"))
    context = {
        "page": page,
        "rows": selectors.job_rows(page, now=timezone.now()),
        "state": state,
        "states": FenceJob.State.choices,
        "sees_prices": signed_in(request).sees_prices,
    }
    return render(request, "scheduling/jobs.html", context)


@requires()
@require_safe
def job(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one job, what it waits for first."""
    return _job_page(request, _job(request, pk), CallOffForm())


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def job_place(request: HttpRequest, pk: int) -> HttpResponse:
    """Place a job's open phases on the calendar, or say what it waits for."""
    found = _job(request, pk)
    try:
        rows = place_job(job=found, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        return _job_page(request, found, CallOffForm(), waits_for=refusal.message, status=422)
    days = {(row.crew_id, row.date) for row in rows}
    messages.success(
        request,
        f"{found} is placed on {len(days)} crew day{'s' if len(days) > 1 else ''}."
        if days
        else f"Everything of {found} stands on the calendar.",
    )
    return redirect(f"{reverse('job', args=[pk])}#days")


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def job_prepare(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down a job's material, its inspection and what its crew is told."""
    found = _job(request, pk)
    forms = PrepareForms(found, request.POST or None)
    if request.method == "POST" and forms.are_valid():
        try:
            prepare_job(
                job=found,
                preparation=_preparation(forms),
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            prefix, _, field = refusal.field.rpartition("-")
            add_refusal(forms.named(prefix), Refusal(refusal.message, field=field))
        else:
            messages.success(request, f"{found} is saved.")
            say_kept_meanwhile(request, *forms.all)
            return redirect("job", pk=pk)
    status = 422 if request.method == "POST" else 200
    context = {"job": found, "site": found.site, "forms": forms}
    return render(request, "scheduling/job_prepare.html", context, status=status)


def _preparation(forms: PrepareForms) -> Preparation:
    return Preparation(
        materials={form.phase: form.cleaned_data for form in forms.materials},
        inspection=forms.inspection.cleaned_data,
        dates=forms.dates.cleaned_data,
        crew_words=forms.crew.cleaned_data,
    )


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def job_call_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Call a job off, and why."""
    found, form = _job(request, pk), CallOffForm(request.POST)
    if form.is_valid():
        try:
            call_off_job(
                job=found,
                reason=form.cleaned_data["reason"],
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{found} is called off.")
            return redirect("job", pk=pk)
    return _job_page(request, _job(request, pk), form, status=422)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def job_drying(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep how the air of the pour's day dries it, or take that away."""
    found = _job(request, pk)
    weather = pour_weather(selectors.job_view(found, now=timezone.now()).waits)
    if weather is None:
        raise Http404
    who: dict[str, Any] = {"actor": signed_in(request), "now": timezone.now()}
    back = redirect(f"{reverse('job', args=[pk])}#drying")
    if "forget" in request.POST:
        write_down_drying(date=weather.date, drying=None, **who)
        return back
    form = DryingForm.of(weather, request.POST)
    if request.POST.get("date") != weather.date.isoformat():
        form.add_error(None, "The pour stands on another day by now: look at its weather again.")
    if not form.is_valid():
        return _job_page(request, found, CallOffForm(), drying=form, status=422)
    write_down_drying(date=weather.date, drying=form.drying(), **who)
    return back


def _job_page(
    request: HttpRequest,
    found: FenceJob,
    form: CallOffForm,
    *,
    waits_for: str = "",
    drying: DryingForm | None = None,
    status: int = 200,
) -> HttpResponse:
    person = signed_in(request)
    view = selectors.job_view(found, now=timezone.now())
    weather = pour_weather(view.waits) if person.sees_prices else None
    if drying is None and weather is not None:
        drying = DryingForm.of(weather)
    context = {
        "job": found,
        "site": found.site,
        "view": view,
        "drying_form": drying,
        "pour_weather": weather,
        "form": form,
        "waits_for": waits_for,
        "is_to_do": found.state == FenceJob.State.TO_DO,
        "today": timezone.localdate(),
        "is_called_off": found.state == FenceJob.State.CALLED_OFF,
        "is_finished": found.state == FenceJob.State.FINISHED,
        "sees_prices": person.sees_prices,
        "sees_margin": person.is_owner,
    }
    return render(request, "scheduling/job.html", context, status=status)
