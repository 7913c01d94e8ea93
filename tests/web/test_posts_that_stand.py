"""The sheet of a day of setting tells which posts stand already, before what is to be loaded."""

import pytest
from django.test import Client

from scheduling.models import Crew, DayReport, PostRecord
from tests.day_cast import address, make_job, page_of, read_pdf, setting_day, words
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db


def test_posts_that_stand_are_named_before_the_load(as_lead: Client, red_crew: Crew) -> None:
    job = make_job()
    setting_day(red_crew, job)
    where = address(red_crew, job)
    assert "Set already" not in words(page_of(as_lead, where))
    report = DayReport.objects.create(job=job, crew=red_crew, date=TODAY, reported_at=NOW)
    for number in (1, 2, 3, 7):
        PostRecord.objects.create(
            job=job, number=number, report=report, set_at=NOW, recorded_at=NOW
        )
    told = "Set already, by the reports: posts 1-3, 7. Load and dig only for the rest."
    assert f"{told} Load for 9 posts" in words(page_of(as_lead, where))
    _, printed = read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))
    assert told in printed
    spanish = words(page_of(as_lead, f"{where}?lang=es"))
    assert "Ya colocados, según los reportes: postes 1-3, 7. Cargue y excave solo" in spanish


def test_where_all_stand_the_crew_asks_whether_it_goes(as_lead: Client, red_crew: Crew) -> None:
    job = make_job()
    setting_day(red_crew, job)
    report = DayReport.objects.create(job=job, crew=red_crew, date=TODAY, reported_at=NOW)
    for number in range(1, 10):
        PostRecord.objects.create(
            job=job, number=number, report=report, set_at=NOW, recorded_at=NOW
        )
    told = "Set already, by the reports: posts 1-9. Ask the office whether you still go."
    assert told in words(page_of(as_lead, address(red_crew, job)))
