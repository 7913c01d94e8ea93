"""What the demo firm shows of the weather, and of what a customer was promised."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from estimating.services.demo import Cast
from scheduling.models import CrewDay, FenceJob, JobPhase, PlanChange
from scheduling.services.job_details import set_dates
from scheduling.services.plan_changes import tick_seen
from scheduling.services.weather import write_down_months, write_down_weather

ONE_DAY = dt.timedelta(days=1)


def show_usual_air(weather: Mapping[str, Any], cast: Cast) -> None:
    """Write down what is usual in each month, which counts where no day is forecast."""
    pairs = {
        month: (float(low_f), float(high_f))
        for month, (low_f, high_f) in enumerate(weather["months_low_high_f"], start=1)
    }
    write_down_months(pairs=pairs, actor=cast.office, now=cast.now)


def show_air(weather: Mapping[str, Any], cast: Cast) -> None:
    """Write down the air of the days around today, before any job is placed by it."""
    first = timezone.localdate(cast.now) - weather["first_days_ago"] * ONE_DAY
    pairs = {
        first + number * ONE_DAY: (float(low_f), float(high_f))
        for number, (low_f, high_f) in enumerate(weather["low_high_f"])
    }
    write_down_weather(pairs=pairs, rain={}, actor=cast.office, now=cast.now)


def show_promise(promise: Mapping[str, Any], cast: Cast) -> None:
    """Promise a customer the end some days after the last that is planned."""
    job = FenceJob.objects.get(customer__name=promise["customer"])
    last = CrewDay.objects.filter(job=job).latest("date").date
    values = {
        "promised_on": last + promise["days_after"] * ONE_DAY,
        "wanted_by": None,
        "not_before": None,
        "closed_days": [],
        "after_job": None,
    }
    set_dates(job=job, values=values, actor=cast.office, now=cast.now)


def show_rain(weather: Mapping[str, Any], cast: Cast) -> None:
    """Forecast rain for the next day on which posts are to be set; holidays are no news."""
    holidays = PlanChange.objects.filter(cause=PlanChange.Cause.HOLIDAY).values_list(
        "pk", flat=True
    )
    tick_seen(changes=list(holidays), as_of=cast.now, actor=cast.office, now=cast.now)
    today = timezone.localdate(cast.now)
    setting = CrewDay.objects.filter(phase__kind=JobPhase.Kind.SET, date__gt=today)
    block = setting.filter(job__state=FenceJob.State.TO_DO).order_by("date").first()
    if block is not None:
        rain = {block.date: weather["rain_in"]}
        write_down_weather(pairs={}, rain=rain, actor=cast.office, now=cast.now)
