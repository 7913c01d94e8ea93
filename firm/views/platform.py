"""Addresses for machines: policy reports from browsers, and whether the app is well."""

import json
import logging

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET, require_POST

csp_logger = logging.getLogger("firm.csp")
MAX_REPORT_BYTES = 8192


# Browsers send reports without a token, and nothing is written but a log line.
@csrf_exempt
@require_POST
def csp_report(request: HttpRequest) -> HttpResponse:
    body = request.read(MAX_REPORT_BYTES)
    try:
        report = json.loads(body)
    except (ValueError, RecursionError):
        return HttpResponse("A policy report is JSON.", status=400, content_type="text/plain")
    # Dumped again, so that no line break of a stranger's reaches the log.
    csp_logger.warning("Policy report: %s", json.dumps(report))
    return HttpResponse(status=204)


@require_GET
def healthz(request: HttpRequest) -> HttpResponse:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return HttpResponse("well\n", content_type="text/plain")
