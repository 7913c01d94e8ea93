"""The office's pages about money: invoices, the payments of a contract, and where it stands."""

import datetime as dt
from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST, require_safe

from estimating.forms.invoices import DraftForm, IssueForm, MailInvoiceForm, ReasonForm
from estimating.models import Invoice
from estimating.selectors import invoices as selectors
from estimating.selectors.changes import unsigned_changes
from estimating.services import invoice_pdf, invoices
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role, User

INVOICES_PER_PAGE = 50
office = requires(Role.OWNER, Role.OFFICE)
Action = Callable[[Invoice, forms.Form, User, dt.datetime], str]


def _invoice(pk: int) -> Invoice:
    return get_object_or_404(selectors.invoice_rows(), pk=pk)


@office
@require_safe
def invoice_list(request: HttpRequest) -> HttpResponse:
    """List invoices: those on which something is open unless others are asked for."""
    today, state = timezone.localdate(), request.GET.get("state", "")
    if state not in dict(selectors.STATES):
        state = "open"
    unsettled = selectors.unsettled(today=today)
    overdue = [each for each in unsettled if each.is_overdue]
    rows: Any
    if state == "open":
        rows = unsettled
    elif state == "overdue":
        rows = overdue
    else:
        rows = selectors.drafts() if state == "drafts" else selectors.invoice_rows()
    page = Paginator(rows, INVOICES_PER_PAGE).get_page(request.GET.get("page"))
    shown = list(page)
    if state in {"drafts", "all"}:
        shown = selectors.standings(shown, today=today)
    context = {
        "page": page,
        "rows": shown,
        "state": state,
        "states": selectors.STATES,
        "draft_count": selectors.drafts().count(),
        "open_sum": sum(each.open for each in unsettled),
        "overdue_sum": sum(each.open for each in overdue),
    }
    return render(request, "estimating/invoices.html", context)


@office
def invoice(request: HttpRequest, pk: int) -> HttpResponse:
    """Show an invoice; a draft's note and day are changed here."""
    found = _invoice(pk)
    if request.method != "POST":
        return _page(request, found)
    form = DraftForm(request.POST)
    if form.is_valid():
        try:
            invoices.change_draft(
                invoice=found,
                values=form.cleaned_data,
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, "The draft has been saved.")
            return redirect("invoice", pk=pk)
    return _page(request, found, draft_form=form, status=422)


def _page(
    request: HttpRequest, found: Invoice, *, status: int = 200, **bound: forms.Form
) -> HttpResponse:
    contract = selectors.contract_of(found.proposal_id, today=timezone.localdate())
    if contract is None:
        raise Http404
    standing = next(each for each in contract.invoices if each.invoice.pk == found.pk)
    to = found.sent_to or found.proposal.estimate.customer.email
    is_draft = found.state == Invoice.State.DRAFT
    is_balance = found.kind == Invoice.Kind.BALANCE
    job = None if is_draft else selectors.print_job(found)
    context = {
        "invoice": found,
        "standing": standing,
        "contract": contract,
        "lines": selectors.lines_of(found),
        "payments": [each for each in contract.payments if each.invoice_id == found.pk],
        "is_draft": is_draft,
        "is_stale": is_draft and is_balance and found.amount != contract.money.balance,
        "deposit_unrecorded": is_draft and is_balance and selectors.is_deposit_unrecorded(contract),
        "unsigned": unsigned_changes(found.proposal_id) if is_draft and is_balance else [],
        "is_printing": selectors.is_printing(found, job),
        "print_job": job,
        "failure": selectors.print_failure(found, job),
        "kept_mail": None if is_draft else selectors.kept_mail(found),
        "draft_form": DraftForm(initial={"note": found.note, "due_on": found.due_on}),
        "issue_form": IssueForm(initial={"to": to}),
        "mail_form": MailInvoiceForm(initial={"to": to}),
        "void_form": ReasonForm(),
        **bound,
    }
    return render(request, "estimating/invoice.html", context, status=status)


def _act(
    request: HttpRequest, pk: int, form: forms.Form, act: Action, *, name: str = ""
) -> HttpResponse:
    """Carry out one of the forms of an invoice's page; what is refused is shown on it."""
    found = _invoice(pk)
    if form.is_valid():
        try:
            said = act(found, form, signed_in(request), timezone.now())
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, said)
            return redirect("invoice", pk=pk)
    if name:
        return _page(request, _invoice(pk), status=422, **{name: form})
    for error in form.non_field_errors():
        messages.error(request, str(error))
    return redirect("invoice", pk=pk)


@office
@require_POST
def invoice_issue(request: HttpRequest, pk: int) -> HttpResponse:
    """Number a draft, freeze it, and have it printed and mailed."""

    def act(found: Invoice, form: forms.Form, actor: User, now: dt.datetime) -> str:
        to = form.cleaned_data["to"]
        issued = invoices.issue_invoice(invoice=found, to=to, actor=actor, now=now)
        return f"Invoice {issued.number} is issued" + (f" and goes to {to}." if to else ".")

    return _act(request, pk, IssueForm(request.POST), act, name="issue_form")


@office
@require_POST
def invoice_refresh(request: HttpRequest, pk: int) -> HttpResponse:
    """Work a drafted balance out anew."""
    found = _invoice(pk)
    if found.state != Invoice.State.DRAFT or found.kind != Invoice.Kind.BALANCE:
        messages.error(request, "Only a drafted balance is worked out anew.")
        return redirect("invoice", pk=pk)
    kept = invoices.refresh_draft(
        proposal_id=found.proposal_id, actor=signed_in(request), now=timezone.now()
    )
    if kept is None:
        messages.success(request, "Nothing is left to ask for: the draft is gone.")
        return redirect("contract_money", pk=found.proposal_id)
    messages.success(request, "The balance was worked out anew.")
    return redirect("invoice", pk=kept.pk)


@office
@require_POST
def invoice_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Throw a draft away."""
    found = _invoice(pk)
    try:
        invoices.drop_draft(invoice=found, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        messages.error(request, str(refusal))
        return redirect("invoice", pk=pk)
    messages.success(request, "The draft is gone.")
    return redirect("contract_money", pk=found.proposal_id)


@office
@require_POST
def invoice_print(request: HttpRequest, pk: int) -> HttpResponse:
    """Print an issued invoice after the printing failed."""

    def act(found: Invoice, _form: forms.Form, actor: User, now: dt.datetime) -> str:
        if found.state != Invoice.State.ISSUED or found.pdf_sha256:
            raise Refusal("Only an issued invoice without its PDF is printed.")
        invoices.print_invoice(invoice=found, actor=actor, now=now)
        return "The invoice is being printed."

    return _act(request, pk, forms.Form(request.POST), act)


@office
@require_POST
def invoice_mail(request: HttpRequest, pk: int) -> HttpResponse:
    """Mail the very same PDF."""

    def act(found: Invoice, form: forms.Form, actor: User, now: dt.datetime) -> str:
        to = form.cleaned_data["to"]
        invoice_pdf.mail_invoice_again(invoice=found, to=to, actor=actor, now=now)
        return f"Mailed to {to}."

    return _act(request, pk, MailInvoiceForm(request.POST), act, name="mail_form")


@office
@require_POST
def invoice_void(request: HttpRequest, pk: int) -> HttpResponse:
    """Void an issued invoice, and why."""

    def act(found: Invoice, form: forms.Form, actor: User, now: dt.datetime) -> str:
        reason = form.cleaned_data["reason"]
        invoices.void_invoice(invoice=found, reason=reason, actor=actor, now=now)
        return f"{found} is void."

    return _act(request, pk, ReasonForm(request.POST), act, name="void_form")


@office
@require_GET
def invoice_progress(request: HttpRequest, pk: int) -> HttpResponse:
    """Say how far the printing is; when it is over the page loads anew."""
    found = _invoice(pk)
    job = selectors.print_job(found)
    if selectors.is_printing(found, job):
        context = {"invoice": found, "print_job": job}
        return render(request, "estimating/_invoice_progress.html", context)
    return HttpResponse(headers={"HX-Refresh": "true"})


@office
@require_safe
def invoice_pdf_file(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Show the PDF: the one that was issued, or a preview of the draft."""
    found = _invoice(pk)
    name = invoice_pdf.pdf_name(found)
    if found.state == Invoice.State.DRAFT:
        pdf = invoice_pdf.preview_pdf(found, now=timezone.now())
        response = HttpResponse(pdf, content_type="application/pdf")
        response["Content-Disposition"] = f'inline; filename="{name}"'
        return response
    if not found.pdf or not found.pdf.storage.exists(found.pdf.name or ""):
        raise Http404
    return FileResponse(found.pdf.open("rb"), filename=name, content_type="application/pdf")
