"""The pages of a job's end: the punch list, the walk-through and the customer's signature."""

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from estimating.selectors.changes import unsigned_changes
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.selectors.languages import spoken
from firm.selectors.profile import firm_profile
from firm.services.signatures import signature_path
from scheduling.forms.completion import FinishForm, PunchForm
from scheduling.models import FenceJob, PunchItem
from scheduling.selectors.completion import job_end
from scheduling.selectors.reach import jobs_within_reach
from scheduling.services import completion
from scheduling.services.completion_pdf import render_completion_pdf


def _job(request: HttpRequest, pk: int) -> FenceJob:
    """Return a job within the person's reach; others do not exist for them."""
    reach = jobs_within_reach(signed_in(request)).select_related("customer", "site")
    return get_object_or_404(reach, pk=pk)


@requires()
def job_finish(request: HttpRequest, pk: int) -> HttpResponse:
    """Walk through, sign, and finish the job; afterwards show what was signed."""
    job = _job(request, pk)
    if request.method != "POST":
        return _page(request, job)
    form = FinishForm(request.POST)
    if form.is_valid():
        person = signed_in(request)
        try:
            completion.finish_job(job=job, actor=person, now=timezone.now(), **form.cleaned_data)
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(
                request,
                _("{job} is finished. The office sends the balance.").format(job=spoken(job.said)),
            )
            return redirect("job_finish", pk=pk)
    return _page(request, job, form=form, status=422)


def _page(
    request: HttpRequest,
    job: FenceJob,
    *,
    form: FinishForm | None = None,
    punch_form: PunchForm | None = None,
    status: int = 200,
) -> HttpResponse:
    end = job_end(job)
    statement = completion.statement_for(job, end.open_items)
    shown = form or FinishForm()
    if not end.open_items:
        del shown.fields["leaves_open"]
    if not end.phases:
        del shown.fields["ends_phases"]
    context = {
        "job": job,
        "end": end,
        "firm": firm_profile(),
        "statement": statement,
        # What is shown now is what is signed next.
        "seen": completion.fingerprint(statement),
        "unsigned": unsigned_changes(job.proposal_id),
        "is_open": job.state == FenceJob.State.TO_DO and end.completion is None,
        "is_called_off": job.state == FenceJob.State.CALLED_OFF,
        "path": signature_path(end.completion.strokes) if end.completion else "",
        "form": shown,
        "punch_form": punch_form or PunchForm(),
        "sees_prices": signed_in(request).sees_prices,
    }
    return render(request, "scheduling/job_finish.html", context, status=status)


@requires()
@require_POST
def punch_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down a thing to be put right."""
    job, form = _job(request, pk), PunchForm(request.POST)
    if form.is_valid():
        try:
            completion.add_punch_item(
                job=job, actor=signed_in(request), now=timezone.now(), **form.cleaned_data
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            return redirect("job_finish", pk=pk)
    return _page(request, job, punch_form=form, status=422)


@requires()
@require_POST
def punch_tick(request: HttpRequest, pk: int, item_pk: int) -> HttpResponse:
    """Tick a thing done, or open it again."""
    job = _job(request, pk)
    item = get_object_or_404(PunchItem, pk=item_pk, job=job)
    done = forms.BooleanField(required=False).clean(request.POST.get("done"))
    completion.tick_punch_item(
        item=item, is_done=done, actor=signed_in(request), now=timezone.now()
    )
    return redirect("job_finish", pk=pk)


@requires()
@require_safe
def job_completion_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what was signed as a PDF."""
    job = _job(request, pk)
    signed = job_end(job).completion
    if signed is None:
        raise Http404
    response = HttpResponse(render_completion_pdf(signed), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="completion-{job.label}.pdf"'
    return response
