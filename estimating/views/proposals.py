"""The office's pages about proposals."""

import datetime as dt
from collections.abc import Callable

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST, require_safe

from estimating.forms.proposals import (
    CallForm,
    DeclineForm,
    PaperAcceptanceForm,
    ProposalForm,
    SendForm,
)
from estimating.models import Estimate, Proposal
from estimating.selectors import proposals as selectors
from estimating.selectors.beside import beside
from estimating.services import proposal_answers, proposal_sending, proposals
from estimating.services.acceptances import Signature, accept_on_paper
from estimating.services.proposal_building import content_of
from estimating.services.proposal_mail import pdf_name, public_link
from estimating.services.proposal_pdf import logo_address, render_proposal_pdf
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role, User
from firm.selectors.profile import firm_profile

PROPOSALS_PER_PAGE = 50
office = requires(Role.OWNER, Role.OFFICE)


def _proposal(pk: int) -> Proposal:
    return get_object_or_404(selectors.proposal_rows(), pk=pk)


@office
@require_safe
def proposal_list(request: HttpRequest) -> HttpResponse:
    """List proposals, with whom to call above them."""
    today = timezone.localdate()
    state = request.GET.get("state", "")
    if state not in Proposal.State.values:
        state = ""
    found = Paginator(selectors.in_state(state, today), PROPOSALS_PER_PAGE)
    page = found.get_page(request.GET.get("page"))
    rows = [(row, selectors.standing(row, today)) for row in page]
    context = {
        "page": page,
        "rows": rows,
        "calls": selectors.calls_due(today),
        "state": state,
        "states": Proposal.State.choices,
    }
    return render(request, "estimating/proposals.html", context)


@office
@require_POST
def proposal_new(request: HttpRequest, estimate_pk: int) -> HttpResponse:
    """Draft a proposal from an estimate, or open the draft there is."""
    estimate = get_object_or_404(
        Estimate.objects.select_related("customer", "site"), pk=estimate_pk
    )
    try:
        draft = proposals.create_draft(
            estimate=estimate, actor=signed_in(request), now=timezone.now()
        )
    except Refusal as refusal:
        messages.error(request, str(refusal))
        return redirect("estimate", pk=estimate.pk)
    return redirect("proposal", pk=draft.pk)


@office
def proposal(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a proposal; a draft is changed here."""
    found = _proposal(pk)
    is_open = found.state == Proposal.State.DRAFT and not selectors.is_sending(found)
    if not is_open:
        if request.method == "POST":
            messages.error(request, "This proposal was sent, or is being sent: it stays as it is.")
            return redirect("proposal", pk=pk)
        return render(request, "estimating/proposal.html", _sent_context(found))
    return _draft_page(request, found)


def _draft_page(request: HttpRequest, found: Proposal) -> HttpResponse:
    """Show a draft to be changed; what is typed is saved first, and sent if that was asked."""
    posted = request.POST if request.method == "POST" else None
    form = ProposalForm(
        posted, initial=ProposalForm.initial_of(found), beside=beside(found.estimate)
    )
    send_form = SendForm(posted, initial={"to": found.estimate.customer.email})
    is_to_be_sent = posted is not None and "send" in posted
    if form.is_valid() and (not is_to_be_sent or send_form.is_valid()):
        actor, now = signed_in(request), timezone.now()
        try:
            proposals.update_draft(proposal=found, text=form.draft_text(), actor=actor, now=now)
            messages.success(request, "The draft has been saved.")
            if is_to_be_sent:
                to = send_form.cleaned_data["to"]
                proposal_sending.send_proposal(proposal=found, to=to, actor=actor, now=now)
                messages.success(request, "The proposal is on its way.")
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            return redirect("proposal", pk=found.pk)
    context = {
        "proposal": found,
        "form": form,
        "options": found.options.all(),
        "send_form": send_form,
        "failure": selectors.sending_failed(found),
        "is_stale": found.price != found.estimate.price,
        "deposit_cap": proposals.deposit_cap(found),
    }
    return render(request, "estimating/proposal_draft.html", context)


def _sent_context(found: Proposal) -> dict[str, object]:
    now = timezone.now()
    acceptance = getattr(found, "acceptance", None)
    return {
        "proposal": found,
        "standing": selectors.standing(found, timezone.localdate(now)),
        "is_sending": selectors.is_sending(found),
        "content": content_of(found, today=timezone.localdate(now)),
        "acceptance": acceptance,
        "may_order": acceptance is not None and now > acceptance.cancellation_ends_at,
        "link": public_link(found),
        "kept_mail": selectors.kept_mail(found),
        "decline_form": DeclineForm(),
        "call_form": CallForm(initial={"note": found.call_note, "call_after": found.call_after}),
        "send_form": SendForm(initial={"to": found.sent_to or found.estimate.customer.email}),
        "paper_form": PaperAcceptanceForm(
            proposal=found, initial={"signed_on": timezone.localdate(now)}
        ),
    }


@office
@require_GET
def proposal_progress(request: HttpRequest, pk: int) -> HttpResponse:
    """Say how far the sending is; when it is over the page loads anew."""
    found = _proposal(pk)
    if selectors.is_sending(found):
        return render(request, "estimating/_proposal_progress.html", {"proposal": found})
    return HttpResponse(headers={"HX-Refresh": "true"})


@office
@require_safe
def proposal_pdf(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Show the PDF: the one that was sent, or a preview of the draft."""
    found = _proposal(pk)
    if found.pdf:
        return kept_pdf(found)
    today = timezone.localdate()
    pdf = render_proposal_pdf(
        content_of(found, today=today), logo=logo_address(firm_profile()), is_draft=True
    )
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="draft-{pdf_name(found)}"'
    return response


def kept_pdf(found: Proposal) -> FileResponse:
    """Hand out the PDF as it was sent."""
    if not found.pdf or not found.pdf.storage.exists(found.pdf.name or ""):
        raise Http404
    return FileResponse(
        found.pdf.open("rb"), filename=pdf_name(found), content_type="application/pdf"
    )


@office
@require_safe
def proposal_scan(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Hand out the scan of a signature on paper, never to be shown inside our own pages."""
    acceptance = getattr(_proposal(pk), "acceptance", None)
    if acceptance is None or not acceptance.scan:
        raise Http404
    return FileResponse(
        acceptance.scan.open("rb"),
        as_attachment=True,
        filename=acceptance.scan.name.rpartition("/")[2],
        content_type="application/octet-stream",
    )


Action = Callable[[Proposal, forms.Form, User, dt.datetime], str]
# As what the page of a sent proposal holds a small form, and how the proposal stands while it does.
SHOWN_WHILE = {
    "call_form": ("sent", "expired"),
    "decline_form": ("sent", "expired"),
    "send_form": ("sent",),
}


def _act(
    request: HttpRequest, pk: int, form: forms.Form, act: Action, *, shown_as: str = ""
) -> HttpResponse:
    """Carry out one of the small forms beside a proposal, and go back to it.

    A form that is refused comes back with what was typed, as long as the page still holds it.
    """
    found = _proposal(pk)
    if form.is_valid():
        try:
            messages.success(request, act(found, form, signed_in(request), timezone.now()))
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            return redirect("proposal", pk=pk)
    if selectors.standing(found, timezone.localdate()) in SHOWN_WHILE.get(shown_as, ()):
        context = _sent_context(found) | {shown_as: form}
        return render(request, "estimating/proposal.html", context, status=422)
    for name, errors in form.errors.items():
        label = f"{form.fields[name].label}: " if name in form.fields else ""
        messages.error(request, f"{label}{' '.join(map(str, errors))}")
    return redirect("proposal", pk=pk)


@office
@require_POST
def proposal_send(request: HttpRequest, pk: int) -> HttpResponse:
    """Freeze the draft and have it printed and mailed."""

    def act(found: Proposal, form: forms.Form, actor: User, now: dt.datetime) -> str:
        proposal_sending.send_proposal(
            proposal=found, to=form.cleaned_data["to"], actor=actor, now=now
        )
        return "The proposal is on its way."

    return _act(request, pk, SendForm(request.POST), act)


@office
@require_POST
def proposal_mail_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Mail the very same PDF and link again."""

    def act(found: Proposal, form: forms.Form, actor: User, now: dt.datetime) -> str:
        to = form.cleaned_data["to"]
        if not to:
            raise Refusal("Type the address to mail it to.", field="to")
        proposal_sending.mail_again(proposal=found, to=to, actor=actor, now=now)
        return f"Mailed again to {to}."

    return _act(request, pk, SendForm(request.POST), act, shown_as="send_form")


@office
@require_POST
def proposal_refresh(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the estimate's words, price and options into the draft anew."""

    def act(found: Proposal, _form: forms.Form, actor: User, now: dt.datetime) -> str:
        proposals.refresh_draft(proposal=found, actor=actor, now=now)
        return "The draft was drawn anew from the estimate."

    return _act(request, pk, forms.Form(request.POST), act)


@office
@require_POST
def proposal_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a proposal that is out."""

    def act(found: Proposal, _form: forms.Form, actor: User, now: dt.datetime) -> str:
        proposal_sending.withdraw_proposal(proposal=found, actor=actor, now=now)
        return "The proposal was withdrawn. Its link says so."

    return _act(request, pk, forms.Form(request.POST), act)


@office
@require_POST
def proposal_decline(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that the customer said no, and why."""

    def act(found: Proposal, form: forms.Form, actor: User, now: dt.datetime) -> str:
        proposal_answers.decline_proposal(
            proposal=found, reason=form.cleaned_data["reason"], actor=actor, now=now
        )
        return "Recorded as declined."

    return _act(request, pk, DeclineForm(request.POST), act, shown_as="decline_form")


@office
@require_POST
def proposal_call(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a call and when the next one is due."""

    def act(found: Proposal, form: forms.Form, actor: User, now: dt.datetime) -> str:
        proposal_answers.record_call(proposal=found, actor=actor, now=now, **form.cleaned_data)
        return "The call was recorded."

    return _act(request, pk, CallForm(request.POST), act, shown_as="call_form")


@office
@require_POST
def proposal_paper_acceptance(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a signature on paper with its scan; what was typed stays if it is refused."""
    found = _proposal(pk)
    form = PaperAcceptanceForm(request.POST, request.FILES, proposal=found)
    if form.is_valid():
        data = form.cleaned_data
        signature = Signature(
            name=data["signed_name"],
            pdf_sha256=found.pdf_sha256,
            options=data.get("options", ()),
        )
        try:
            accept_on_paper(
                proposal=found,
                signature=signature,
                scan=data["scan"],
                signed_on=data["signed_on"],
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, "The signature on paper was recorded.")
            return redirect("proposal", pk=pk)
    context = _sent_context(found) | {"paper_form": form}
    return render(request, "estimating/proposal.html", context, status=422)
