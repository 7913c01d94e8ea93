"""Job sites: the list, one site's page, adding and changing, the blank measure sheet."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe
from django.views.decorators.vary import vary_on_headers

from firm.access import requires, signed_in
from firm.forms.sites import SiteForm
from firm.models import Customer, Enquiry, JobSite, Role
from firm.pdf import render_pdf
from firm.selectors.clearances import clearances_of
from firm.selectors.profile import firm_profile
from firm.selectors.sites import attachments_for, sites_for, sites_matching
from firm.services.sites import add_site, change_site
from firm.views.refusing import page_with_forms
from firm.views.searching import is_part_of_page, words_of

SITES_PER_PAGE = 50


@requires()
@require_safe
@vary_on_headers("HX-Request")
def sites(request: HttpRequest) -> HttpResponse:
    """List sites; typing in the search box brings only the rows anew."""
    words = words_of(request)
    found = sites_matching(signed_in(request), words)
    page = Paginator(found, SITES_PER_PAGE).get_page(request.GET.get("page"))
    template = "firm/_site_rows.html" if is_part_of_page(request) else "firm/sites.html"
    return render(request, template, {"page": page, "words": words})


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def site_new(request: HttpRequest) -> HttpResponse:
    """Add a site for a customer, or out of an enquiry."""
    enquiry = _row_named(request, "enquiry", Enquiry)
    customer = enquiry.customer if enquiry else _row_named(request, "customer", Customer)
    form = SiteForm(request.POST or None, initial=_first_values(customer, enquiry))
    if customer:
        form.offer_only(customer)
    if form.is_valid():
        own = enquiry and enquiry.customer_id == form.cleaned_data["customer"].pk
        added = add_site(
            actor=signed_in(request),
            values=form.values(),
            at=timezone.now(),
            enquiry=enquiry if own else None,
        )
        messages.success(request, f"{added} is added. Next: measure it.")
        return redirect("site", pk=added.pk)
    return page_with_forms(request, "firm/site_form.html", {"form": form, "customer": customer})


@requires()
@require_safe
def site(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one site: conditions, clearances, papers, and what can be done next."""
    person = signed_in(request)
    found = get_object_or_404(sites_for(person), pk=pk)
    return render(
        request,
        "firm/site.html",
        {
            "site": found,
            "may_write": person.sees_prices,
            "clearances": clearances_of(found, today=timezone.localdate()),
            "attachments": attachments_for(person).filter(site=found),
        },
    )


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def site_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a site."""
    found = get_object_or_404(JobSite, pk=pk)
    form = SiteForm(request.POST or None, instance=found)
    if form.is_valid():
        changed = change_site(
            actor=signed_in(request), site=found, values=form.values(), at=timezone.now()
        )
        messages.success(request, f"{changed} is saved.")
        return redirect("site", pk=pk)
    return page_with_forms(request, "firm/site_form.html", {"form": form, "site_pk": pk})


@requires()
@require_safe
def site_measure_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """Print a blank measure sheet with what is known of the site at its head."""
    found = get_object_or_404(sites_for(signed_in(request)), pk=pk)
    html = render_to_string(
        "pdf/measure_sheet.html", {"site": found, "firm": firm_profile(), "sheet": SHEET}
    )
    return HttpResponse(
        render_pdf(html),
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="measure-sheet-{pk}.pdf"'},
    )


# How many empty rows each table of the sheet has: as many as fit on one letter page.
SHEET = {"lines": range(6), "gates": range(4), "shots": range(4)}


def _row_named(request: HttpRequest, name: str, model: Any) -> Any:
    key = request.GET.get(name, "")
    return get_object_or_404(model, pk=key) if key.isascii() and key.isdecimal() else None


def _first_values(customer: Customer | None, enquiry: Enquiry | None) -> dict[str, Any]:
    """Return what a new site's form starts with: the customer's address, or the place asked for."""
    if customer is None:
        return {}
    values: dict[str, Any] = {"customer": customer, "city": customer.city, "state": customer.state}
    if enquiry and enquiry.place and enquiry.place != customer.street:
        street, _, town = enquiry.place.partition(",")
        return {
            **values,
            "street": street.strip()[:120],
            "city": town.strip()[:80] or customer.city,
        }
    return {**values, "street": customer.street, "postcode": customer.postcode}
