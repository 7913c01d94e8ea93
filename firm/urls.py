"""The table of addresses: each app keeps its own."""

from django.urls import include, path

from firm.views import platform

handler404 = "scheduling.views.refused.not_found"

urlpatterns = [
    path("healthz", platform.healthz, name="healthz"),
    path("csp-report", platform.csp_report, name="csp_report"),
    path("", include("firm.account_urls")),
    path("", include("firm.site_urls")),
    path("", include("estimating.urls")),
    path("", include("scheduling.urls")),
]
