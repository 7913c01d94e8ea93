"""The pages of the yard: its stock, what a crew loads, and what a job brings back."""

import datetime as dt

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role
from firm.selectors.goods import told
from firm.selectors.languages import speaking
from scheduling.forms.buying import RangeForm
from scheduling.forms.stock import CountForm, LeftoversForm, LoadForm
from scheduling.selectors.load_list import LoadList, load_list
from scheduling.selectors.reach import jobs_within_reach
from scheduling.selectors.stock import latest_moves, leftovers_of, yard_rows
from scheduling.services import stock as services
from scheduling.services.load_list_pdf import load_list_pdf
from scheduling.views.languages import asked_language, language_links


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def yard(request: HttpRequest) -> HttpResponse:
    """Show what lies in the yard and how it came to, and write down what was counted."""
    form = CountForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        item = form.stock_item()
        try:
            move = services.correct_stock(
                item=item,
                counted=form.cleaned_data["counted"],
                seen=None,
                reason=form.cleaned_data["reason"],
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            said = "is written down" if move else "was so already"
            messages.success(
                request, f"{item.name}: {told(form.cleaned_data['counted'], item.unit)} {said}."
            )
            return redirect("yard")
    context = {"form": form, "rows": yard_rows(), "moves": latest_moves()}
    status = 422 if request.method == "POST" else 200
    return render(request, "scheduling/yard.html", context, status=status)


@requires()
@require_http_methods(["GET", "POST"])
def crew_load(request: HttpRequest, crew: int, date: dt.date) -> HttpResponse:
    """Show what a crew loads from a day on to ?last=, and take from the yard what is ticked."""
    days, found = _asked(request, crew, date)
    with speaking(found.language):
        form = LoadForm(request.POST if request.method == "POST" else None, loads=found)
        if request.method == "POST" and form.is_valid() and _load(request, form, date):
            return redirect(request.get_full_path())
        context = {"loads": found, "form": form, "days": days, "date": date}
        context |= language_links(request, found.language)
        is_fine = request.method != "POST" and days.is_valid()
        return render(request, "scheduling/load_list.html", context, status=200 if is_fine else 422)


@requires()
@require_safe
def crew_load_pdf(request: HttpRequest, crew: int, date: dt.date) -> HttpResponse:
    """Hand out the same list as it is printed."""
    found = _asked(request, crew, date)[1]
    answer = HttpResponse(load_list_pdf(found, now=timezone.now()), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="load-{crew}-{date.isoformat()}.pdf"'
    return answer


def _asked(request: HttpRequest, crew: int, date: dt.date) -> tuple[RangeForm, LoadList]:
    """Return the days asked for and their list; the one day where they make no sense."""
    last = request.GET.get("last") or date.isoformat()
    days = RangeForm({"first": date.isoformat(), "last": last})
    until = days.cleaned_data["last"] if days.is_valid() else date
    found = load_list(
        signed_in(request), crew=crew, first=date, last=until, language=asked_language(request)
    )
    if found is None:
        raise Http404
    return days, found


def _load(request: HttpRequest, form: LoadForm, date: dt.date) -> bool:
    """Take what was ticked from the yard, all of it or nothing."""
    ticked = form.ticked()
    if not ticked:
        form.add_error(None, _("Tick what is on the truck."))
        return False
    job_pk = 0
    try:
        with transaction.atomic():
            for job, counts, seen in ticked:
                job_pk = job.job.pk
                services.load_items(
                    job=job.job,
                    counts=counts,
                    seen=seen,
                    moved_on=min(date, timezone.localdate()),
                    actor=signed_in(request),
                    now=timezone.now(),
                )
    except Refusal as refusal:
        add_refusal(form, Refusal(refusal.message, field=f"count-{job_pk}-{refusal.field}"))
        return False
    messages.success(request, _("Loaded: it is taken from the yard's stock."))
    return True


@requires()
@require_http_methods(["GET", "POST"])
def job_leftovers(request: HttpRequest, pk: int) -> HttpResponse:
    """Bring back to the yard what a job did not use, by count."""
    job = get_object_or_404(jobs_within_reach(signed_in(request)), pk=pk)
    items = leftovers_of(job)
    form = LeftoversForm(request.POST if request.method == "POST" else None, items=items)
    if request.method == "POST" and form.is_valid():
        try:
            moves = services.return_leftovers(
                job=job,
                counts=form.counts(),
                limits={one.item: one.most for one in items},
                moved_on=timezone.localdate(),
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            if moves:
                messages.success(
                    request, _("It lies in the yard again: the next load takes it first.")
                )
            else:
                messages.info(request, _("Nothing was typed."))
            return redirect("job_leftovers", pk=pk)
    status = 422 if request.method == "POST" else 200
    context = {"job": job, "form": form}
    return render(request, "scheduling/job_leftovers.html", context, status=status)
