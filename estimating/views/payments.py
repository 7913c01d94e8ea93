"""The page of a contract's money: its sums, its schedule, its invoices and payments."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from estimating.forms.invoices import PaymentForm, ReasonForm
from estimating.models import Payment, ProposalPayment
from estimating.selectors import invoices as selectors
from estimating.selectors.changes import unsigned_changes
from estimating.services import invoices, payments
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.models import Role

office = requires(Role.OWNER, Role.OFFICE)


def _contract(pk: int) -> selectors.Contract:
    found = selectors.contract_of(pk, today=timezone.localdate())
    if found is None:
        raise Http404
    return found


@office
@require_safe
def contract_money(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what of a contract is invoiced, received and open."""
    contract = _contract(pk)
    first = {"received_on": timezone.localdate(), "invoice": request.GET.get("invoice")}
    return _page(request, contract, PaymentForm(initial=first, contract=contract))


def _page(
    request: HttpRequest, contract: selectors.Contract, form: PaymentForm, *, status: int = 200
) -> HttpResponse:
    context = {
        "contract": contract,
        "estimate": contract.proposal.estimate,
        "money": contract.money,
        "steps": selectors.steps_of(contract),
        "balance": contract.balance,
        "unsigned": unsigned_changes(contract.proposal.pk),
        "deposit_unrecorded": selectors.is_deposit_unrecorded(contract),
        "form": form,
    }
    return render(request, "estimating/contract_money.html", context, status=status)


@office
@require_POST
def payment_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Write a payment down."""
    contract = _contract(pk)
    form = PaymentForm(request.POST, contract=contract)
    if form.is_valid():
        try:
            payments.add_payment(
                proposal_id=pk,
                values=form.cleaned_data,
                actor=signed_in(request),
                now=timezone.now(),
            )
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, "The payment is written down.")
            return redirect("contract_money", pk=pk)
    return _page(request, contract, form, status=422)


@office
def payment_void(request: HttpRequest, pk: int) -> HttpResponse:
    """Void a payment, and why."""
    payment = get_object_or_404(
        Payment.objects.select_related("proposal__estimate__customer", "invoice"), pk=pk
    )
    form, status = ReasonForm(request.POST or None), 200
    if request.method == "POST":
        form, status = ReasonForm(request.POST), 422
        if form.is_valid():
            try:
                payments.void_payment(
                    payment=payment,
                    reason=form.cleaned_data["reason"],
                    actor=signed_in(request),
                    now=timezone.now(),
                )
            except Refusal as refusal:
                add_refusal(form, refusal)
            else:
                messages.success(request, "The payment is void.")
                return redirect("contract_money", pk=payment.proposal_id)
    context = {"payment": payment, "form": form}
    return render(request, "estimating/payment_void.html", context, status=status)


@office
@require_POST
def invoice_balance(request: HttpRequest, pk: int) -> HttpResponse:
    """Draft the balance, or open the one there is."""
    _contract(pk)
    found = invoices.draft_balance_invoice(
        proposal_id=pk, actor=signed_in(request), now=timezone.now()
    )
    if found is None:
        messages.warning(request, "Nothing is left to ask for.")
        return redirect("contract_money", pk=pk)
    return redirect("invoice", pk=found.pk)


@office
@require_POST
def invoice_step(request: HttpRequest, pk: int, step_pk: int) -> HttpResponse:
    """Draft the invoice of one step of the payment schedule."""
    _contract(pk)
    step = get_object_or_404(ProposalPayment, pk=step_pk)
    if step.proposal_id != pk:
        raise Http404
    try:
        draft = invoices.draft_step_invoice(step=step, actor=signed_in(request), now=timezone.now())
    except Refusal as refusal:
        messages.error(request, str(refusal))
        return redirect("contract_money", pk=pk)
    return redirect("invoice", pk=draft.pk)
