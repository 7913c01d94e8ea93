"""How fast a pour dries: what the office typed for its day is kept, and the advice stands.

The chart's own example in Fahrenheit and mph (air 80, concrete 87, 50 %, 12 mph): 1.1375 kg/m2 an
hour, .233 lb/ft2, worked by hand in tests/published/test_weather_advice.py.
"""

from html import unescape

import pytest
from django.db import IntegrityError, transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from firm.models import AuditEntry, FirmProfile
from scheduling.models import CrewDay, DryingAir, FenceJob
from tests.crew_cast import make_full_job, make_red_crew, may, put_on
from tests.day_cast import words
from tests.factories import NOW, make_firm

pytestmark = pytest.mark.django_db
TYPED = {"air_f": "80", "humidity_pct": "50", "wind_mph": "12", "concrete_f": "87"}
SAID = "About 0.23 lb/ft\N{SUPERSCRIPT TWO} of water leaves its top in an hour, more than the 0.20"


@pytest.fixture
def job(db: None) -> FenceJob:
    make_firm()
    job = make_full_job(1, on=may(4))
    put_on(job, "set", make_red_crew(), may(5), hours="4", air_f=72)
    return job


def send(client: Client, job: FenceJob, **typed: str) -> HttpResponse:
    where = reverse("job_drying", args=[job.pk])
    return client.post(where, {"date": "2026-05-05"} | TYPED | typed)  # type: ignore[return-value]


def page_of(client: Client, job: FenceJob) -> str:
    return unescape(client.get(reverse("job", args=[job.pk])).content.decode())


def test_what_was_typed_is_kept_and_the_advice_stands(as_office: Client, job: FenceJob) -> None:
    assert "leaves its top" not in page_of(as_office, job)
    answer = send(as_office, job)
    assert answer["Location"] == f"{reverse('job', args=[job.pk])}#drying"
    kept = DryingAir.objects.get()
    assert (kept.date, kept.air_f, kept.humidity_pct) == (may(5), 80.0, 50.0)
    assert (kept.wind_mph, kept.concrete_f) == (12.0, 87.0)
    page = page_of(as_office, job)
    assert SAID in words(page)
    assert "How fast it dries, on Tue May 5" in page
    for name, value in (("air_f", "80"), ("humidity_pct", "50"), ("wind_mph", "12")):
        assert f'name="{name}" value="{value}"' in page
    assert AuditEntry.objects.filter(action="wrote down the drying air").count() == 1


def test_another_job_of_that_day_has_the_same_advice(as_office: Client, job: FenceJob) -> None:
    other = make_full_job(2, on=may(4))
    crew = CrewDay.objects.get().crew
    put_on(other, "set", crew, may(5), hours="2")
    send(as_office, job)
    assert SAID in words(page_of(as_office, other))


def test_pour_that_moves_takes_its_new_day_s_air(as_office: Client, job: FenceJob) -> None:
    send(as_office, job)
    CrewDay.objects.update(date=may(6))
    assert "leaves its top" not in page_of(as_office, job)
    answer = send(as_office, job)
    assert answer.status_code == 422
    page = unescape(answer.content.decode())
    assert "The pour stands on another day by now" in page
    assert 'value="87' in page
    CrewDay.objects.update(date=may(5))
    assert SAID in words(page_of(as_office, job))


def test_it_is_changed_and_taken_away(as_office: Client, job: FenceJob) -> None:
    send(as_office, job)
    send(as_office, job)
    assert not AuditEntry.objects.filter(action="changed the drying air").exists()
    send(as_office, job, concrete_f="")
    assert DryingAir.objects.get().concrete_f is None
    assert AuditEntry.objects.filter(action="changed the drying air").count() == 1
    send(as_office, job, forget="yes")
    assert not DryingAir.objects.exists()
    assert "leaves its top" not in page_of(as_office, job)
    assert AuditEntry.objects.filter(action="took the drying air away").count() == 1
    assert send(as_office, job, forget="yes").status_code == 302


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("humidity_pct", "140"),
        ("humidity_pct", "NaN"),
        ("humidity_pct", ""),
        ("wind_mph", "1e999"),
        ("wind_mph", "-1"),
        ("air_f", "400"),
        ("concrete_f", "20"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    as_office: Client, job: FenceJob, field: str, typed: str
) -> None:
    answer = send(as_office, job, **{field: typed})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert f'value="{typed}"' in page or not typed
    assert f'id="id_{field}_error"' in page
    assert not DryingAir.objects.exists()


def test_metric_firm_types_and_reads_its_own_units(as_office: Client, job: FenceJob) -> None:
    FirmProfile.objects.update(units="metric")
    # 80 F is 26.7 C, 87 F 30.6 C, 12 mph 5.36 m/s.
    send(as_office, job, air_f="26.7", concrete_f="30.6", wind_mph="5.36")
    kept = DryingAir.objects.get()
    assert (round(kept.air_f), round(kept.concrete_f or 0), round(kept.wind_mph)) == (80, 87, 12)
    assert "About 1.14 kg/m\N{SUPERSCRIPT TWO} of water" in words(page_of(as_office, job))


def test_crew_lead_neither_sees_nor_writes_it(as_lead: Client, job: FenceJob) -> None:
    assert send(as_lead, job).status_code == 403
    assert not DryingAir.objects.exists()


def test_job_without_a_pour_has_none(as_office: Client, job: FenceJob) -> None:
    CrewDay.objects.all().delete()
    assert send(as_office, job).status_code == 404


@pytest.mark.parametrize(
    "changes", [{"humidity_pct": 101.0}, {"wind_mph": -1.0}, {"concrete_f": 200.0}, {"air_f": 200}]
)
def test_database_refuses_what_cannot_be(db: None, changes: dict[str, float]) -> None:
    good = {"air_f": 80.0, "humidity_pct": 50.0, "wind_mph": 12.0, "concrete_f": 87.0}
    DryingAir.objects.create(date=may(5), entered_at=NOW, **good)
    with pytest.raises(IntegrityError), transaction.atomic():
        DryingAir.objects.create(date=may(6), entered_at=NOW, **(good | changes))
