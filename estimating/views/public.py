"""The customer's pages: no log-in, only the link that nobody can guess."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from estimating.forms.proposals import AcceptanceForm, DeclineForm
from estimating.models import Proposal
from estimating.selectors import proposals as selectors
from estimating.services.acceptances import Signature, accept_at_link
from estimating.services.proposal_answers import decline_proposal
from estimating.services.proposal_building import content_of
from estimating.services.proposal_reading import note_first_reading
from estimating.services.proposal_texts import consent_text
from estimating.views.proposals import kept_pdf
from firm.access import open_to_all
from firm.errors import Refusal
from firm.forms.fields import add_refusal
from firm.selectors.profile import firm_profile

P = ParamSpec("P")
CONFLICT = 409


def _private(
    view: Callable[Concatenate[HttpRequest, Proposal, P], HttpResponseBase],
) -> Callable[..., HttpResponseBase]:
    """Find the proposal by its token, and keep the answer out of caches and search engines.

    The site's referrer policy, same-origin, already keeps the link from other sites. A stricter
    one would make browsers send `Origin: null` and so fail the check against forged forms.
    """

    @wraps(view)
    def found(
        request: HttpRequest, token: str, *args: P.args, **kwargs: P.kwargs
    ) -> HttpResponseBase:
        proposal = selectors.by_token(token)
        if proposal is None:
            response: HttpResponseBase = render(request, "estimating/public_none.html", status=404)
        else:
            response = view(request, proposal, *args, **kwargs)
        response.headers["Cache-Control"] = "no-store, private"
        response.headers["X-Robots-Tag"] = "noindex, nofollow"
        return response

    return open_to_all(found)


@_private
@require_http_methods(["GET", "HEAD", "POST"])
def proposal_public(request: HttpRequest, proposal: Proposal) -> HttpResponse:
    """Show the proposal and take the customer's yes."""
    form = AcceptanceForm(
        request.POST if request.method == "POST" else None,
        proposal=proposal,
        consent=consent_text(),
    )
    if request.method != "POST":
        if not request.user.is_authenticated:
            note_first_reading(proposal=proposal, now=timezone.now())
        return _page(request, proposal, form)
    # Who accepts twice is thanked twice, whatever the second form says.
    if proposal.state == Proposal.State.ACCEPTED:
        return redirect("proposal_public", token=proposal.token)
    if not form.is_valid():
        return _page(request, proposal, form, status=422)
    data = form.cleaned_data
    signature = Signature(
        name=data["signed_name"],
        pdf_sha256=data["pdf_sha256"],
        options=data.get("options", ()),
        ip_address=address_of(request),
        user_agent=request.headers.get("User-Agent", ""),
    )
    try:
        accept_at_link(proposal=proposal, signature=signature, now=timezone.now())
    except Refusal as refusal:
        add_refusal(form, refusal)
        proposal.refresh_from_db()
        return _page(request, proposal, form, status=CONFLICT)
    return redirect("proposal_public", token=proposal.token)


def _page(
    request: HttpRequest,
    proposal: Proposal,
    form: AcceptanceForm,
    *,
    decline_form: DeclineForm | None = None,
    status: int = 200,
) -> HttpResponse:
    today = timezone.localdate()
    chosen = list(form["options"].value() or ()) if "options" in form.fields else []
    context = {
        "proposal": proposal,
        "content": content_of(proposal, today=today),
        "standing": selectors.standing(proposal, today),
        "why_not": selectors.why_not_acceptable(proposal, today),
        "acceptance": getattr(proposal, "acceptance", None),
        "form": form,
        "options": [(row, row.key in chosen) for row in proposal.options.all()],
        "total": selectors.total_with(proposal, chosen),
        "decline_form": decline_form or DeclineForm(),
        "firm": firm_profile(),
    }
    return render(request, "estimating/public.html", context, status=status)


@_private
@require_safe
def proposal_public_pdf(_request: HttpRequest, proposal: Proposal) -> HttpResponseBase:
    """Hand out the PDF as it was sent."""
    return kept_pdf(proposal)


@_private
@require_safe
def proposal_public_total(request: HttpRequest, proposal: Proposal) -> HttpResponse:
    """Return the total with the options ticked so far."""
    total = selectors.total_with(proposal, request.GET.getlist("options"))
    return render(request, "estimating/_public_total.html", {"total": total})


@_private
@require_POST
def proposal_public_decline(request: HttpRequest, proposal: Proposal) -> HttpResponse:
    """Take the customer's no and why."""
    form = AcceptanceForm(proposal=proposal, consent=consent_text())
    decline_form = DeclineForm(request.POST)
    if not decline_form.is_valid():
        return _page(request, proposal, form, decline_form=decline_form, status=422)
    try:
        decline_proposal(
            proposal=proposal, reason=decline_form.cleaned_data["reason"], now=timezone.now()
        )
    except Refusal as refusal:
        add_refusal(decline_form, refusal)
        return _page(request, proposal, form, decline_form=decline_form, status=CONFLICT)
    return redirect("proposal_public", token=proposal.token)


def address_of(request: HttpRequest) -> str | None:
    """Return the customer's address; the middleware has asked the proxy already, if there is one.

    The zone of a link-local address (RFC 4007) belongs to this machine, not to the customer.
    """
    return request.META.get("REMOTE_ADDR", "").partition("%")[0] or None
