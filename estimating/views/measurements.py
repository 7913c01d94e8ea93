"""The page on which a site's measurements are typed, its preview, and its file."""

import json
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from estimating.drawing.plan import plan_svg
from estimating.engine.errors import EngineError
from estimating.engine.left_out import left_out_findings
from estimating.engine.result import EstimateResult
from estimating.forms.measure_maker import FormMaker, kept_parts
from estimating.forms.measurements import MeasureForm
from estimating.forms.site_files import SiteFileForm
from estimating.mapping import to_plain
from estimating.models import SiteMeasurement
from estimating.selectors.catalog import system_choices
from estimating.selectors.measurements import (
    CATALOG_KEYS,
    conditions_of,
    latest_measurement,
    measurements_of,
    read_document,
    read_file,
    read_to_keep,
    work_out,
)
from estimating.selectors.place_words import in_words, line_names
from estimating.selectors.site_marks import fixed_marks, utility_marks
from estimating.services.measurements import save_measurement
from estimating.starter import DATA
from firm.access import requires, signed_in
from firm.errors import Refusal
from firm.models import JobSite, Role
from firm.selectors.profile import firm_units

SCHEMA = DATA / "site.schema.json"
MOST_DIGITS = 9
CARRIED = (*CATALOG_KEYS, "typed_lines", "overrides")


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def site_measure(request: HttpRequest, pk: int) -> HttpResponseBase:
    site = _site(pk)
    newest = latest_measurement(site)
    maker = _maker(site, newest)
    if request.method == "GET":
        return _page(request, site, newest, maker, _form_of(site, newest, maker))
    act = request.POST.get("act", "save")
    if act != "save":
        return _page(request, site, newest, maker, maker.draft(request.POST, act))
    form = maker.from_typed(request.POST)
    saved = _save(request, site, newest, form)
    if saved is None:
        return _page(request, site, newest, maker, form, status=422)
    if newest and saved.pk == newest.pk:
        messages.info(request, f"Nothing was changed: version {saved.version} stands.")
    else:
        messages.success(request, f"Saved as version {saved.version}.")
    return redirect("site_measure", pk=site.pk)


def _save(
    request: HttpRequest, site: JobSite, newest: SiteMeasurement | None, form: MeasureForm
) -> SiteMeasurement | None:
    """Keep what was typed, or put messages into the form and return None."""
    if not form.is_valid():
        return None
    form.carried = _carried(newest)
    document = form.document()
    now = timezone.now()
    try:
        work_out(read_to_keep(document, today=timezone.localdate(now)))
        return save_measurement(
            site=site,
            document=document,
            based_on=form.head.cleaned_data["based_on"] or 0,
            actor=signed_in(request),
            now=now,
        )
    except EngineError as error:
        form.add_engine_error(error)
    except Refusal as refusal:
        newer = latest_measurement(site)
        form.is_overtaken(refusal.message, version=newer.version if newer else 0)
    return None


@requires(Role.OWNER, Role.OFFICE)
@require_POST
def site_measure_preview(request: HttpRequest, pk: int) -> HttpResponse:
    site = _site(pk)
    newest = latest_measurement(site)
    form = _maker(site, newest).from_typed(request.POST)
    context: dict[str, Any] = {"site": site}
    is_valid = form.is_valid()
    sound = form.sound_lines()
    if sound:
        form.carried = _carried(newest)
        context |= _preview(form.document(sound), site)
    if not is_valid and sound:
        names = " and ".join(line.mark for line in form.lines if line.has_errors)
        context["problem"] = f"Without line {names}: a figure there is missing or can't be read."
    elif not is_valid:
        context["problem"] = "The sketch follows once the lines have their lengths."
    return render(request, "estimating/_measure_preview.html", context)


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def site_document(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out the newest version, or the one asked for, as a file."""
    site = _site(pk)
    wanted = request.GET.get("version", "")
    rows = SiteMeasurement.objects.filter(site=site)
    # Characters such as a raised 2 are digits to isdigit, yet no numbers.
    is_number = wanted.isdecimal() and len(wanted) <= MOST_DIGITS
    if wanted and not is_number:
        raise Http404
    row = get_object_or_404(rows, version=int(wanted)) if wanted else rows.first()
    if row is None:
        messages.error(request, "This site has not been measured yet.")
        return redirect("site_measure", pk=site.pk)
    answer = HttpResponse(
        json.dumps(row.document, indent=2, ensure_ascii=False) + "\n",
        content_type="application/json",
    )
    answer["Content-Disposition"] = (
        f'attachment; filename="site-{site.pk}-version-{row.version}.json"'
    )
    return answer


@requires(Role.OWNER, Role.OFFICE)
@require_GET
def site_schema(request: HttpRequest) -> HttpResponse:
    """Hand out the description of the file, field by field."""
    content = SCHEMA.read_text(encoding="utf-8")
    answer = HttpResponse(content, content_type="application/schema+json")
    answer["Content-Disposition"] = 'attachment; filename="site.schema.json"'
    return answer


@requires(Role.OWNER, Role.OFFICE)
@require_http_methods(["GET", "POST"])
def site_document_upload(request: HttpRequest, pk: int) -> HttpResponseBase:
    site = _site(pk)
    newest = latest_measurement(site)
    form = SiteFileForm(request.POST or None, request.FILES or None)
    status = 200
    if request.method == "POST":
        if form.is_valid() and (saved := _take_file(request, site, newest, form)):
            messages.success(request, f"The file is kept as version {saved.version}.")
            for line in _left_out(saved.document):
                messages.warning(request, line)
            return redirect("site_measure", pk=site.pk)
        status = 422
    context = {"site": site, "form": form, "newest": newest}
    return render(request, "estimating/measure_upload.html", context, status=status)


def _take_file(
    request: HttpRequest, site: JobSite, newest: SiteMeasurement | None, form: SiteFileForm
) -> SiteMeasurement | None:
    document = form.cleaned_data["file"]
    now = timezone.now()
    if newest and newest.version != form.cleaned_data["based_on"]:
        form.add_error(
            None,
            f"{newest.saved_by or 'Someone else'} saved version {newest.version} of this site "
            "after you opened this page. Look at it first; the file, chosen and sent again, "
            "becomes the newest version.",
        )
        return None
    try:
        work_out(read_file(document, today=timezone.localdate(now)))
        return save_measurement(
            site=site,
            document=document,
            based_on=newest.version if newest else 0,
            actor=signed_in(request),
            now=now,
        )
    except EngineError as error:
        form.add_error("file", _with_place(error))
    except Refusal as refusal:
        form.add_error(None, refusal.message)
    return None


def _left_out(document: dict[str, Any]) -> list[str]:
    """Return the sentences on lines of a kept document that are not worked out."""
    read = read_document(document, today=timezone.localdate(), leave_out=True)
    names = line_names(document)
    return [
        in_words(finding.message, names) for finding in left_out_findings(read.site, read.catalog)
    ]


def _with_place(error: EngineError) -> str:
    """Return the message with the place it speaks of, said once."""
    message = str(error)
    return message if error.field in message else f"{error.field}: {message}"


def _site(pk: int) -> JobSite:
    return get_object_or_404(JobSite.objects.select_related("customer", "jurisdiction"), pk=pk)


def _maker(site: JobSite, newest: SiteMeasurement | None) -> FormMaker:
    document = newest.document if newest else {}
    return FormMaker(
        systems=system_choices(document.get("fence_systems", {})),
        units=firm_units(),
        kept=kept_parts(document, conditions=conditions_of(site)),
    )


def _carried(newest: SiteMeasurement | None) -> dict[str, Any]:
    """Return the parts of the document that this page doesn't show."""
    document = newest.document if newest else {}
    return {name: document[name] for name in CARRIED if name in document}


def _form_of(site: JobSite, newest: SiteMeasurement | None, maker: FormMaker) -> MeasureForm:
    document = newest.document if newest else {"name": str(site)}
    return maker.from_document(
        document,
        based_on=newest.version if newest else 0,
        conditions=conditions_of(site),
    )


def _page(
    request: HttpRequest,
    site: JobSite,
    newest: SiteMeasurement | None,
    maker: FormMaker,
    form: MeasureForm,
    *,
    status: int = 200,
) -> HttpResponse:
    context: dict[str, Any] = {
        "site": site,
        "newest": newest,
        "versions": measurements_of(site),
        "form": form,
        "blank_line": maker.blank_line(),
        "blank_rows": maker.blank_rows(),
        "groups": maker.blank_line().groups,
    }
    if newest:
        context |= _preview(newest.document, site)
    return render(request, "estimating/measure.html", context, status=status)


def _preview(document: dict[str, Any], site: JobSite) -> dict[str, Any]:
    """Return the sketch and the findings of a document, or the sentence why there are none."""
    try:
        read = read_document(document, today=timezone.localdate(), leave_out=True)
        result = work_out(read)
    except EngineError as error:
        return {"problem": str(error)}
    return {
        "result": result,
        "plan": _sketch(result, site, to_plain(read.site)),
        "findings": _by_severity(result),
    }


def _sketch(result: EstimateResult, site: JobSite, document: dict[str, Any]) -> str:
    return plan_svg(
        result.lines,
        title=f"Sketch of {site}",
        units=firm_units(),
        id_prefix="sketch",
        utilities=utility_marks(document),
        fixed=fixed_marks(document),
    )


def _by_severity(result: EstimateResult) -> list[Any]:
    order = ("stop", "warn", "note")
    return sorted(result.findings, key=lambda finding: order.index(finding.severity))
