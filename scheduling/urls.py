"""The addresses of this app's pages."""

import datetime as dt

from django.urls import URLPattern, URLResolver, include, path, register_converter

from firm.forms.fields import LIKELY_YEARS
from scheduling.views import (
    calendar,
    completion,
    crew_days,
    crew_papers,
    crews,
    days,
    feeds,
    ground,
    holidays,
    home,
    jobs,
    margin,
    plan_changes,
    plan_drafts,
    rain_outs,
    reports,
    skills,
    time_off,
    timelines,
    weather,
)


class DayConverter:
    """A day in an address, as 2026-03-09."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> dt.date:
        """Return the day; ValueError, which makes a 404, where no firm has such a day."""
        day = dt.date.fromisoformat(value)
        if day.year not in LIKELY_YEARS:
            raise ValueError(value)
        return day

    def to_url(self, value: dt.date) -> str:
        """Return the day as it stands in the address."""
        return value.isoformat()


register_converter(DayConverter, "day")

urlpatterns: list[URLPattern | URLResolver] = [
    path("", home.home, name="home"),
    # Jobs
    path("jobs/", jobs.job_list, name="jobs"),
    path("jobs/<int:pk>/", jobs.job, name="job"),
    path("jobs/<int:pk>/timeline/", timelines.job_timeline_page, name="job_timeline"),
    path("jobs/<int:pk>/call-off/", jobs.job_call_off, name="job_call_off"),
    # Planning a job: material, inspection, placing
    path("jobs/<int:pk>/prepare/", jobs.job_prepare, name="job_prepare"),
    path("jobs/<int:pk>/place/", jobs.job_place, name="job_place"),
    path("jobs/<int:pk>/drying/", jobs.job_drying, name="job_drying"),
    # Crews and machines
    path("crews/", crews.crews, name="crews"),
    path("crews/new/", crews.crew_new, name="crew_new"),
    path("crews/<int:pk>/", crews.crew_edit, name="crew_edit"),
    path("crews/<int:pk>/people/new/", crews.crew_member_add, name="crew_member_add"),
    path("crew-members/<int:pk>/", crews.crew_member_edit, name="crew_member_edit"),
    path("crew-members/<int:pk>/time-off/new/", time_off.time_off_add, name="time_off_add"),
    path("time-off/<int:pk>/", time_off.time_off_edit, name="time_off_edit"),
    path("time-off/<int:pk>/drop/", time_off.time_off_drop, name="time_off_drop"),
    path("crews/<int:pk>/days-off/new/", crews.days_off_add, name="days_off_add"),
    path("days-off/<int:pk>/", crews.days_off_edit, name="days_off_edit"),
    path("days-off/<int:pk>/drop/", crews.days_off_drop, name="days_off_drop"),
    path("holidays/", holidays.holidays, name="holidays"),
    path("skills/", skills.skills, name="skills"),
    path("skills/<int:pk>/drop/", skills.skill_drop, name="skill_drop"),
    path("skills/ask/", skills.skill_ask, name="skill_ask"),
    path("skills/people/", skills.people_asked, name="people_asked"),
    path("skills-asked/<int:pk>/drop/", skills.skill_ask_drop, name="skill_ask_drop"),
    path("machines/new/", crews.machine_new, name="machine_new"),
    path("machines/<int:pk>/", crews.machine_edit, name="machine_edit"),
    # The calendar
    path("calendar/", calendar.week, name="week"),
    path("calendar/month/", calendar.month, name="month"),
    path("calendar/jobs/<int:pk>/place/", calendar.week_place, name="week_place"),
    path("calendar/plan/", plan_drafts.plan, name="plan"),
    path("calendar/plan/progress/", plan_drafts.plan_progress, name="plan_progress"),
    path("calendar/plan/<int:pk>/stop/", plan_drafts.plan_stop, name="plan_stop"),
    path("calendar/plan/<int:pk>/take/", plan_drafts.plan_take, name="plan_take"),
    path("calendar/plan/<int:pk>/drop/", plan_drafts.plan_drop, name="plan_drop"),
    path("calendar/rain-out/<day:date>/", rain_outs.rain_out, name="rain_out"),
    path("calendar/rain-outs/<int:pk>/", rain_outs.rain_out_calls, name="rain_out_calls"),
    path("calendar/rain-outs/jobs/<int:pk>/told/", rain_outs.rain_out_told, name="rain_out_told"),
    path("calendar/changes/", plan_changes.plan_changes, name="plan_changes"),
    path("calendar/changes/seen/", plan_changes.plan_changes_seen, name="plan_changes_seen"),
    path("calendar/changes/<int:pk>/seen/", plan_changes.plan_change_seen, name="plan_change_seen"),
    path("calendar/place-all/", calendar.week_place_all, name="week_place_all"),
    # What calendars elsewhere read
    path("feeds/", feeds.calendar_feeds, name="calendar_feeds"),
    path("feeds/<str:token>.ics", feeds.calendar_feed, name="calendar_feed"),
    path("feeds/<int:pk>/revoke/", feeds.calendar_feed_revoke, name="calendar_feed_revoke"),
    path("weather/", weather.weather, name="weather"),
    path("weather/months/", weather.weather_months, name="weather_months"),
    path("crew-days/<int:pk>/", crew_days.crew_day, name="crew_day"),
    path("crew-days/<int:pk>/move/", crew_days.crew_day_move, name="crew_day_move"),
    path("crew-days/<int:pk>/first-day/", plan_changes.crew_day_first, name="crew_day_first"),
    path("crew-days/<int:pk>/drop/", crew_days.crew_day_drop, name="crew_day_drop"),
    path("jobs/<int:pk>/crew-days/add/", crew_days.crew_day_add, name="crew_day_add"),
    # A crew's day: sheet and report
    path("days/", days.my_days, name="my_days"),
    path("days/<int:crew>/<day:date>/", days.day, name="day"),
    path("days/<int:crew>/<day:date>/day.pdf", crew_papers.day_papers, name="day_papers"),
    path("days/<int:crew>/<day:date>/week.pdf", crew_papers.week_paper, name="week_paper"),
    path("days/<int:crew>/<day:date>/jobs/<int:job>/", days.day_sheet, name="day_sheet"),
    path(
        "days/<int:crew>/<day:date>/jobs/<int:job>/sheet.pdf",
        days.day_sheet_pdf,
        name="day_sheet_pdf",
    ),
    path(
        "days/<int:crew>/<day:date>/jobs/<int:job>/report/", reports.day_report, name="day_report"
    ),
    path(
        "days/<int:crew>/<day:date>/jobs/<int:job>/report/posts/",
        reports.report_posts,
        name="report_posts",
    ),
    path(
        "days/<int:crew>/<day:date>/jobs/<int:job>/report/photos/",
        reports.report_photos,
        name="report_photos",
    ),
    path("job-photos/<int:pk>/", reports.job_photo, name="job_photo"),
    path("job-photos/<int:pk>/small.jpg", reports.job_photo_small, name="job_photo_small"),
    # The ground as it was found
    path("jobs/<int:pk>/ground/", ground.ground, name="ground"),
    path("jobs/<int:pk>/changes/<int:number>/sign/", ground.change_sign, name="change_sign"),
    path("jobs/<int:pk>/rock-change/", ground.job_rock_change, name="job_rock_change"),
    # Costs and margin
    path("margins/", margin.margins, name="margins"),
    path("jobs/<int:pk>/margin/", margin.job_margin, name="job_margin"),
    path("jobs/<int:pk>/costs/", margin.job_costs, name="job_costs"),
    path("jobs/<int:pk>/costs/add/", margin.job_cost_add, name="job_cost_add"),
    path("job-costs/<int:pk>/", margin.job_cost_edit, name="job_cost_edit"),
    path("", include("scheduling.buying_urls")),
    # The end of a job
    path("jobs/<int:pk>/finish/", completion.job_finish, name="job_finish"),
    path(
        "jobs/<int:pk>/finish/completion.pdf",
        completion.job_completion_pdf,
        name="job_completion_pdf",
    ),
    path("jobs/<int:pk>/punch/", completion.punch_add, name="punch_add"),
    path("jobs/<int:pk>/punch/<int:item_pk>/", completion.punch_tick, name="punch_tick"),
]
