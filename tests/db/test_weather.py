"""The air that is written down: kept, changed, taken away, and followed by every wait."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from pytest_django import DjangoAssertNumQueries

from firm.errors import Refusal
from firm.models import AuditEntry, Role
from scheduling.engine.air import LowHigh
from scheduling.models import AirTemperature, Crew, CrewDay, DayReport, FenceJob
from scheduling.selectors.planning import hang_sentence, job_waits
from scheduling.selectors.weather import air_since
from scheduling.services.placing import place_job
from scheduling.services.weather import write_down_days, write_down_months
from tests.cast import make_person
from tests.crew_cast import days_of, make_full_job, make_red_crew, may, put_on
from tests.factories import NOW

pytestmark = pytest.mark.django_db

MONDAY = may(4)  # NOW is its 11:00


def write(pairs: Mapping[dt.date, tuple[float, float] | None]) -> int:
    return write_down_days(pairs=pairs, actor=make_person(Role.OFFICE, username="o"), now=NOW)


def test_days_are_kept_as_forecast_or_as_they_were() -> None:
    assert write({may(3): (40, 58.5), may(4): (41, 60), may(5): (42, 61)}) == 3
    found = {row.date: (row.low_f, row.high_f, row.source) for row in AirTemperature.objects.all()}
    assert found == {
        may(3): (40, 58.5, "entered"),
        may(4): (41, 60, "forecast"),
        may(5): (42, 61, "forecast"),
    }
    assert AuditEntry.objects.filter(action="wrote down the air").count() == 3


def test_day_is_changed_and_taken_away_and_what_stands_is_left_alone() -> None:
    person = make_person(Role.OFFICE)
    for pair, count in (((42, 61), 1), ((42, 61), 0), ((39, 61), 1), (None, 1), (None, 0)):
        assert write_down_days(pairs={may(5): pair}, actor=person, now=NOW) == count
    assert not AirTemperature.objects.exists()
    assert list(AuditEntry.objects.order_by("pk").values_list("action", flat=True)) == [
        "wrote down the air",
        "changed the air",
        "took the air away",
    ]


def test_low_over_its_high_is_refused_at_its_field_and_nothing_is_written() -> None:
    with pytest.raises(Refusal) as refused:
        write({may(4): (41, 60), may(5): (61, 42)})
    assert refused.value.field == "2026-05-05-low_f"
    assert refused.value.message == "A day's low of 61 F stands above its high of 42 F."
    assert not AirTemperature.objects.exists()
    with pytest.raises(Refusal) as refused:
        write_down_months(pairs={5: (61, 42)}, actor=make_person(Role.OWNER), now=NOW)
    assert refused.value.field == "5-low_f"


@pytest.mark.parametrize(
    "values",
    [
        {"date": MONDAY, "low_f": 60, "high_f": 41, "source": "entered"},
        {"date": MONDAY, "low_f": -81, "high_f": 41, "source": "entered"},
        {"date": MONDAY, "low_f": 41, "high_f": 141, "source": "entered"},
        {"date": MONDAY, "low_f": 41, "high_f": 60, "source": "usual"},
        {"date": MONDAY, "month": 5, "low_f": 41, "high_f": 60, "source": "entered"},
        {"month": 13, "low_f": 41, "high_f": 60, "source": "usual"},
        {"month": 5, "low_f": 41, "high_f": 60, "source": "forecast"},
        {"low_f": 41, "high_f": 60, "source": "usual"},
    ],
)
def test_database_refuses_what_cannot_be(values: dict[str, Any]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        AirTemperature.objects.create(**values, entered_at=NOW)


def test_one_query_brings_days_and_months(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    write({may(3): (40, 58), may(4): (41, 60)})
    write_down_months(pairs={5: (45, 66)}, actor=make_person(Role.OWNER), now=NOW)
    with django_assert_num_queries(1):
        air = air_since(may(4))
    assert air.days == {may(4): LowHigh(low_f=41, high_f=60)}
    assert air.normals == {5: LowHigh(low_f=45, high_f=66)}


def poured_job(crew: Crew, *, air_f: float | None = None, **changes: Any) -> FenceJob:
    """Return a job whose posts were set on Monday at 10:00 in New York."""
    job = make_full_job(1001, on=MONDAY, **changes)
    job.phases.filter(kind__in=["layout", "dig", "set"]).update(finished_on=MONDAY)
    DayReport.objects.create(
        job=job,
        crew=crew,
        date=MONDAY,
        poured_at=NOW - dt.timedelta(hours=1),
        air_f=air_f,
        mix="standard",
        reported_at=NOW,
    )
    return job


def test_day_s_low_and_high_decide_where_nothing_was_said() -> None:
    job = poured_job(make_red_crew())
    # Steady 60 F on all days: the table's 48 h, as worked out in test_day_sheet.
    write({may(day): (60, 60) for day in range(3, 9)})
    assert "Panels from Wednesday 10:00: the firm's table says 48 h at 60 F" in hang_sentence(job)
    # A colder forecast moves it: 48 F counts as .4297, 30.476 / .4297 = 70.93 h of the table's 72.
    AirTemperature.objects.update(low_f=48, high_f=48)
    assert "Panels from Thursday 10:00: the firm's table says 72 h at 48 F" in hang_sentence(job)


def test_day_s_low_and_high_rule_over_the_one_figure_of_the_report() -> None:
    job = poured_job(make_red_crew(), air_f=75.0)
    write({may(day): (48, 48) for day in range(3, 9)})
    assert "the firm's table says 72 h at 48 F" in hang_sentence(job)


def test_usual_air_of_the_month_stands_in_for_days_nobody_knows() -> None:
    job = poured_job(make_red_crew())
    write_down_months(pairs={5: (60, 60)}, actor=make_person(Role.OWNER), now=NOW)
    assert "the firm's table says 48 h at 60 F" in hang_sentence(job)


def test_forecast_of_frost_bars_the_pour_until_the_posts_are_covered() -> None:
    make_red_crew()
    job = make_full_job(1001, on=MONDAY)
    write({may(day): (50, 70) for day in range(3, 20)} | {may(6): (30, 60)})
    place_job(job=job, actor=None, now=NOW)
    # Nothing is set on Tuesday, before the night that freezes; on Wednesday that night is over.
    sets = CrewDay.objects.filter(phase__kind="set")
    assert [row.date for row in sets] == [may(6)]
    put_on(job, "set", Crew.objects.get(), may(5), hours="1")
    assert any(
        one.sentence
        == "Job 1001: no setting posts on Tue May 5, 2026. 30 F on Wed 06:00, before the concrete "
        "stands a frost. Cover it or do not pour; hang nothing on what froze."
        for one in job_waits(job, NOW).violations
    )
    CrewDay.objects.all().delete()
    FenceJob.objects.update(is_covered_against_frost=True)
    job.refresh_from_db()
    place_job(job=job, actor=None, now=NOW)
    assert "5 set 2.50" in days_of(job)
    assert "Cover the posts: 30 F on Wed 06:00." in hang_sentence(job)
