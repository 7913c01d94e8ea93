"""The ground as the crew found it, and the changes that follow: on the crew lead's phone."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from estimating.selectors.changes import change_to_sign, change_view
from estimating.selectors.grounds import (
    Entries,
    Found,
    Ground,
    ground_lines,
    ground_of,
    ground_versions,
    work_out_entries,
)
from estimating.services.change_orders import (
    ChangeSignature,
    draft_rock_order,
    fingerprint,
    sign_change_order,
)
from estimating.services.ground_changes import record_ground_change
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.measure.said import Said
from firm.models import Role
from firm.selectors.languages import spoken
from firm.selectors.profile import firm_profile
from firm.services.signatures import signature_path
from scheduling.forms.changes import SignChangeForm
from scheduling.forms.ground import GroundForm
from scheduling.models import FenceJob
from scheduling.selectors.ground import rock_posts, set_posts
from scheduling.selectors.reach import jobs_within_reach

DRAFT = "draft"
SIGNED = "signed"
ON_PHONE = "phone"


def _job(request: HttpRequest, pk: int) -> FenceJob:
    jobs = jobs_within_reach(signed_in(request)).select_related("customer", "site")
    return get_object_or_404(jobs, pk=pk)


def _refuse_settled(job: FenceJob) -> None:
    if job.state != FenceJob.State.TO_DO:
        state = Said(job.get_state_display().lower())
        raise Refusal(Said("This job is {state}: its sheet stays as it is.", state=state))


@requires()
def ground(request: HttpRequest, pk: int) -> HttpResponse:
    """Take real legs, marks and posts; show what they change, and save them when asked."""
    job = _job(request, pk)
    standing = ground_of(job.proposal_id)
    if standing is None:
        return _page(request, job, None, status=422 if request.method == "POST" else 200)
    lines = ground_lines(standing)
    if request.method != "POST":
        return _page(request, job, GroundForm(ground=standing, lines=lines))
    form = GroundForm(request.POST, ground=standing, lines=lines)
    entries = form.entries() if form.is_valid() else None
    if entries is None:
        return _page(request, job, form, status=422)
    try:
        _refuse_settled(job)
        if "save" in request.POST:
            return _saved(request, job, form, entries)
        found = work_out_entries(standing, entries)
    except Refusal as refusal:
        form.add_refusal(refusal)
        return _page(request, job, form, status=422)
    return _page(request, job, _worked_out(standing, form, found), found=found)


def _worked_out(standing: Ground, form: GroundForm, found: Found) -> GroundForm:
    """Return the form with the posts as they are laid out now."""
    return GroundForm(
        ground=standing,
        lines=form.lines,
        shown=ground_lines(standing, found),
        initial={"note": form.cleaned_data["note"]},
    )


def _saved(request: HttpRequest, job: FenceJob, form: GroundForm, entries: Entries) -> HttpResponse:
    change = record_ground_change(
        proposal_id=job.proposal_id,
        entries=entries,
        note=form.cleaned_data["note"],
        actor=signed_in(request),
        now=timezone.now(),
        based_on=int(form.cleaned_data["based_on"]),
        set_posts=set_posts(job),
    )
    old = Said("version {number}", number=change.version - 1)
    said = Said(
        "Version {number} is the sheet now. Throw away printed sheets of {old}.",
        number=change.version,
        old=old if change.version > 1 else Said("the sale"),
    )
    messages.success(request, spoken(said))
    return redirect("ground", pk=job.pk)


def _page(
    request: HttpRequest,
    job: FenceJob,
    form: GroundForm | None,
    *,
    found: Found | None = None,
    status: int = 200,
) -> HttpResponse:
    context = {
        "job": job,
        "form": form,
        "lines": form.line_fields() if form else [],
        "found": found,
        "versions": ground_versions(job.proposal_id),
        "set_posts": set_posts(job),
        "is_to_do": job.state == FenceJob.State.TO_DO,
        "sees_prices": signed_in(request).sees_prices,
    }
    return render(request, "scheduling/ground.html", context, status=status)


@requires()
def change_sign(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Let the customer read a change with its price, and sign it."""
    job = _job(request, pk)
    order = change_to_sign(job.proposal_id, number)
    if order is None:
        raise Http404
    form = SignChangeForm(request.POST or None, initial={"seen": fingerprint(order)})
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                _refuse_settled(job)
                sign_change_order(
                    order=order,
                    signature=ChangeSignature(
                        name=form.cleaned_data["signed_name"],
                        way=ON_PHONE,
                        seen=form.cleaned_data["seen"],
                        strokes=form.cleaned_data["strokes"],
                    ),
                    actor=signed_in(request),
                    now=timezone.now(),
                )
            except Refusal as refusal:
                add_refusal(form, refusal)
            else:
                messages.success(request, f"Change {number} is signed. Thank you.")
                return redirect("change_sign", pk=pk, number=number)
    context = {
        "job": job,
        "view": change_view(order),
        "order": order,
        "form": form,
        "firm": firm_profile(),
        "is_draft": order.state == DRAFT,
        "is_signed": order.state == SIGNED,
        "drawn": signature_path(order.strokes) if order.strokes else "",
    }
    return render(request, "scheduling/change_sign.html", context, status=status)


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def job_rock_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Draft a change order for the holes where the crew met rock."""
    job = _job(request, pk)
    try:
        _refuse_settled(job)
        order = draft_rock_order(
            proposal_id=job.proposal_id,
            posts=rock_posts(job),
            actor=signed_in(request),
            now=timezone.now(),
        )
    except Refusal as refusal:
        messages.error(request, str(refusal))
        return redirect("job", pk=pk)
    messages.success(request, f"Change order {order.number} is drafted: look it over.")
    return redirect("change_order", pk=order.pk)
