"""The addresses of this app's pages."""

import datetime as dt

from django.urls import path, register_converter

from scheduling.views import jobs, margin


class DayConverter:
    """A day in an address, as 2026-03-09."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> dt.date:
        """Return the day; ValueError, which makes a 404, where the calendar has none such."""
        return dt.date.fromisoformat(value)

    def to_url(self, value: dt.date) -> str:
        """Return the day as it stands in the address."""
        return value.isoformat()


register_converter(DayConverter, "day")

urlpatterns = [
    # Jobs
    path("jobs/", jobs.job_list, name="jobs"),
    path("jobs/<int:pk>/", jobs.job, name="job"),
    path("jobs/<int:pk>/call-off/", jobs.job_call_off, name="job_call_off"),
    # Planning a job: material, inspection, placing
    # Crews and machines
    # The calendar
    # A crew's day: sheet and report
    # The ground as it was found
    # Costs and margin
    path("margins/", margin.margins, name="margins"),
    path("jobs/<int:pk>/margin/", margin.job_margin, name="job_margin"),
    path("jobs/<int:pk>/costs/", margin.job_costs, name="job_costs"),
    path("jobs/<int:pk>/costs/add/", margin.job_cost_add, name="job_cost_add"),
    path("job-costs/<int:pk>/", margin.job_cost_edit, name="job_cost_edit"),
    # The end of a job
]
