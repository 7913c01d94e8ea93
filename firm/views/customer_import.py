"""Importing customers from a CSV file: chosen, looked at, then taken in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.forms.customers import CustomerFileForm
from firm.forms.fields import add_refusal
from firm.models import Role
from firm.services.attachments import name_of
from firm.services.customer_csv import SAMPLE
from firm.services.customer_import import ImportPreview, import_customers, preview_import
from firm.services.import_files import import_file, keep_import_file, throw_away_import_file
from firm.views.refusing import page_with_forms

# The key stays in the session, so that nobody confirms a file somebody else chose.
SESSION_KEY = "customer_import"
MOST_ROWS_SHOWN = 200


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def customers_import(request: HttpRequest) -> HttpResponse:
    """Take a file and show what its rows would do; or, once confirmed, take them in."""
    if request.method == "POST" and "confirm" in request.POST:
        return _confirmed(request)
    is_sent = request.method == "POST"
    form = CustomerFileForm(*((request.POST, request.FILES) if is_sent else ()))
    preview = None
    if form.is_valid():
        upload = form.cleaned_data["file"]
        content = upload.read()
        try:
            preview = preview_import(content)
        except Refusal as refusal:
            add_refusal(form, refusal)
        else:
            _keep(request, content, name_of(upload.name or ""))
    return _page(request, form, preview)


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def customers_import_sample(request: HttpRequest) -> HttpResponse:
    """Hand out a file to fill in."""
    # With the mark that makes spreadsheets read it as UTF-8.
    return HttpResponse(
        SAMPLE.encode("utf-8-sig"),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": 'attachment; filename="customers.csv"'},
    )


def _confirmed(request: HttpRequest) -> HttpResponse:
    kept = request.session.get(SESSION_KEY, {})
    content = import_file(kept.get("key", ""))
    form = CustomerFileForm()
    if content is None:
        messages.error(request, "The file is no longer here: choose it once more.")
        return redirect("customers_import")
    try:
        added = import_customers(
            actor=signed_in(request), content=content, file_name=kept["name"], at=timezone.now()
        )
    except Refusal as refusal:
        messages.error(request, refusal.message)
        answer = _page(request, form, None)
        answer.status_code = 422
        return answer
    throw_away_import_file(kept["key"])
    del request.session[SESSION_KEY]
    messages.success(request, f"{len(added)} customer{'' if len(added) == 1 else 's'} taken in.")
    return redirect("customers")


def _keep(request: HttpRequest, content: bytes, name: str) -> None:
    throw_away_import_file(request.session.get(SESSION_KEY, {}).get("key", ""))
    key = keep_import_file(content=content, at=timezone.now())
    request.session[SESSION_KEY] = {"key": key, "name": name[:120]}


def _page(
    request: HttpRequest, form: CustomerFileForm, preview: ImportPreview | None
) -> HttpResponse:
    # Rows that are left out come first: they are what needs a look.
    rows = sorted(preview.rows, key=lambda row: row.is_good) if preview else []
    return page_with_forms(
        request,
        "firm/customers_import.html",
        {
            "form": form,
            "preview": preview,
            "rows": rows[:MOST_ROWS_SHOWN],
            "hidden_count": max(0, len(rows) - MOST_ROWS_SHOWN),
            "file_name": request.session.get(SESSION_KEY, {}).get("name", ""),
        },
    )
