"""A day sheet offers the report of its day from that day on, and no page that is not there."""

from unittest.mock import patch

import pytest
from django.test import Client
from django.urls import reverse

from scheduling.models import Crew
from tests.crew_cast import may
from tests.day_cast import address, make_job, page_of, setting_day
from tests.factories import NOW

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("day", "is_offered"), [(3, False), (4, True), (5, True)])
def test_report_is_offered_once_its_day_has_come(
    as_lead: Client, red_crew: Crew, day: int, is_offered: bool
) -> None:
    job = make_job()
    setting_day(red_crew, job)
    report = reverse("day_report", args=[red_crew.pk, may(4), job.pk])
    with patch("django.utils.timezone.now", return_value=NOW.replace(day=day)):
        assert (report in page_of(as_lead, address(red_crew, job))) is is_offered
        assert as_lead.get(report).status_code == (200 if is_offered else 404)
