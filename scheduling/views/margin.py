"""The owner's pages of what jobs leave, and the office's pages of what was paid for them."""

from collections.abc import Sequence

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from scheduling.forms.costs import JobCostForm
from scheduling.models import FenceJob, JobCost
from scheduling.selectors import margin as selectors
from scheduling.selectors.margin import deliveries_among
from scheduling.services.costs import add_cost, correct_cost


@requires(Role.OWNER)
@require_safe
def margins(request: HttpRequest) -> HttpResponse:
    """List the jobs with what they leave, the worst first."""
    rows = selectors.margins(now=timezone.now())
    return render(request, "scheduling/margins.html", {"rows": rows})


@requires(Role.OWNER)
@require_safe
def job_margin(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what one job leaves, and what moved it."""
    found = selectors.job_margin(pk, now=timezone.now())
    if found is None:
        raise Http404
    return render(request, "scheduling/job_margin.html", {"view": found, "job": found.job})


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def job_costs(request: HttpRequest, pk: int) -> HttpResponse:
    """List a job's receipts, with a form for one more."""
    today = timezone.localdate()
    job = _job(pk)
    costs = list(selectors.costs_of(job))
    form = JobCostForm(initial={"spent_on": today}, deliveries=deliveries_among(costs))
    return _costs_page(request, job, costs, form)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def job_cost_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down a receipt."""
    job = _job(pk)
    costs = list(selectors.costs_of(job))
    form = JobCostForm(request.POST, deliveries=deliveries_among(costs))
    if form.is_valid():
        try:
            added = add_cost(
                job=job,
                values=form.values(),
                covers=form.covered,
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{added.description} is written down.")
            return redirect("job_costs", pk=pk)
    return _costs_page(request, job, costs, form, status=422)


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def job_cost_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct a receipt."""
    typed = JobCost.objects.filter(order=None, stock_move=None).select_related("job__customer")
    cost = get_object_or_404(typed, pk=pk)
    form = JobCostForm(
        request.POST or None,
        instance=JobCost.objects.get(pk=pk),
        deliveries=deliveries_among(selectors.costs_of(cost.job)),
    )
    if form.is_valid():
        try:
            correct_cost(
                cost=cost,
                values=form.values(),
                covers=form.covered,
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, "The receipt is corrected.")
            return redirect("job_costs", pk=cost.job_id)
    context = {"form": form, "cost": cost, "job": cost.job}
    status = 422 if form.errors else 200
    return render(request, "scheduling/job_cost.html", context, status=status)


def _job(pk: int) -> FenceJob:
    return get_object_or_404(FenceJob.objects.select_related("customer"), pk=pk)


def _costs_page(
    request: HttpRequest,
    job: FenceJob,
    costs: Sequence[JobCost],
    form: JobCostForm,
    *,
    status: int = 200,
) -> HttpResponse:
    context = {
        "job": job,
        "costs": costs,
        "total": sum(cost.amount for cost in costs if cost.counts),
        "form": form,
        "sees_margin": signed_in(request).is_owner,
    }
    return render(request, "scheduling/job_costs.html", context, status=status)
