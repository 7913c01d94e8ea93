"""The addresses of this app's pages."""

from django.urls import path

from scheduling.views import jobs

urlpatterns = [
    path("jobs/", jobs.job_list, name="jobs"),
    path("jobs/<int:pk>/", jobs.job, name="job"),
    path("jobs/<int:pk>/call-off/", jobs.job_call_off, name="job_call_off"),
]
