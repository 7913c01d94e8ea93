"""Customers: the list, one customer's page, adding and changing."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe
from django.views.decorators.vary import vary_on_headers

from firm.access import requires, signed_in
from firm.forms.customers import CustomerForm
from firm.models import Customer, Role
from firm.selectors.customers import customers_matching
from firm.services.customers import add_customer, change_customer
from firm.views.refusing import page_with_forms
from firm.views.searching import is_part_of_page, words_of

CUSTOMERS_PER_PAGE = 50


@requires(Role.OWNER, Role.OFFICE)
@require_safe
@vary_on_headers("HX-Request")
def customers(request: HttpRequest) -> HttpResponse:
    """List customers; typing in the search box brings only the rows anew."""
    words = words_of(request)
    page = Paginator(customers_matching(words), CUSTOMERS_PER_PAGE).get_page(
        request.GET.get("page")
    )
    template = "firm/_customer_rows.html" if is_part_of_page(request) else "firm/customers.html"
    return render(request, template, {"page": page, "words": words})


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def customer_new(request: HttpRequest) -> HttpResponse:
    """Add a customer."""
    form = CustomerForm(request.POST or None)
    if form.is_valid():
        added = add_customer(actor=signed_in(request), values=form.cleaned_data, at=timezone.now())
        messages.success(request, f"{added.name} is added. Next: add the site of the job.")
        return redirect("customer", pk=added.pk)
    return page_with_forms(request, "firm/customer_form.html", {"form": form})


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def customer(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one customer with enquiries and sites."""
    found = get_object_or_404(Customer, pk=pk)
    return render(
        request,
        "firm/customer.html",
        {
            "customer": found,
            "enquiries": found.enquiries.all(),
            "sites": found.sites.select_related("jurisdiction"),
        },
    )


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def customer_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what is known of a customer."""
    found = get_object_or_404(Customer, pk=pk)
    form = CustomerForm(request.POST or None, instance=found)
    if form.is_valid():
        changed = change_customer(
            actor=signed_in(request),
            customer=found,
            values=form.cleaned_data,
            at=timezone.now(),
        )
        messages.success(request, f"{changed.name} is saved.")
        return redirect("customer", pk=pk)
    return page_with_forms(request, "firm/customer_form.html", {"form": form, "customer_pk": pk})
