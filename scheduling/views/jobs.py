"""The pages of jobs: the list, and one job with what must be settled before its crew digs."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from scheduling.forms.jobs import CallOffForm
from scheduling.models import FenceJob
from scheduling.selectors import jobs as selectors
from scheduling.services.jobs import call_off_job

JOBS_PER_PAGE = 50


def _job(pk: int) -> FenceJob:
    found = selectors.job_with_clearances(pk)
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
    found = Paginator(selectors.jobs_in_state(state), JOBS_PER_PAGE)
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
    return _job_page(request, _job(pk), CallOffForm())


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def job_call_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Call a job off, and why."""
    found, form = _job(pk), CallOffForm(request.POST)
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
    return _job_page(request, _job(pk), form, status=422)


def _job_page(
    request: HttpRequest, found: FenceJob, form: CallOffForm, *, status: int = 200
) -> HttpResponse:
    person = signed_in(request)
    context = {
        "job": found,
        "site": found.site,
        "view": selectors.job_view(found, now=timezone.now()),
        "form": form,
        "is_called_off": found.state == FenceJob.State.CALLED_OFF,
        "sees_prices": person.sees_prices,
        "sees_margin": person.is_owner,
    }
    return render(request, "scheduling/job.html", context, status=status)
