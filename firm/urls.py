"""The table of addresses."""

from django.urls import path

from firm.views import platform

urlpatterns = [
    path("healthz", platform.healthz, name="healthz"),
    path("csp-report", platform.csp_report, name="csp_report"),
]
