"""Two phones have the report of the same day open: what either wrote is kept, or told."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from scheduling.models import Crew
from tests.report_cast import Day, text_of
from tests.web.forms_on_pages import forms_of

pytestmark = pytest.mark.django_db


def opened(phone: Client, day: Day) -> dict[str, list[str]]:
    """Return the report as a browser that opens it would send it."""
    return _report(phone.get(day.address))


def _report(answer: Any) -> dict[str, list[str]]:
    found = forms_of(answer.content.decode())
    return next(form.values for form in found if "remarks" in form.values)


def test_remarks_that_both_wrote_are_told_and_written_when_saved_again(
    phone: Client, day: Day
) -> None:
    first, second = opened(phone, day), opened(phone, day)
    long = "Gate post moved an inch.\nRock at post 3."
    phone.post(day.address, second | {"remarks": [long], "air_f": ["55"]})

    answer = phone.post(day.address, first | {"remarks": ["Dry ground"], "bags_used": ["36"]})

    assert answer.status_code == 422
    page = text_of(answer)
    assert f"This was changed meanwhile: it now says '{long}'." in page
    again = _report(answer)
    assert (again["remarks"], again["bags_used"], again["air_f"]) == (
        ["Dry ground"],
        ["36"],
        ["55"],
    )
    assert (day.report().remarks, day.report().bags_used) == (long, None)
    assert phone.post(day.address, again).status_code == 302
    report = day.report()
    assert (report.remarks, report.bags_used, report.air_f) == ("Dry ground", Decimal(36), 55.0)


def test_a_lead_who_reads_spanish_is_told_in_spanish(phone: Client, day: Day) -> None:
    first = opened(phone, day)
    phone.post(day.address, first | {"remarks": ["Gate post moved"]})
    Crew.objects.update(language="es")

    page = text_of(phone.post(day.address, first | {"remarks": ["Suelo seco"]}))

    assert "Esto cambió mientras tanto: ahora dice «Gate post moved»." in page


def test_ticks_of_the_other_phone_stay_when_a_refused_page_is_sent_again(
    phone: Client, day: Day
) -> None:
    first, second = opened(phone, day), opened(phone, day)
    dig = day.job.phases.get(kind="dig")
    phone.post(day.address, second | {"posts": ["3"], "phases": [str(dig.pk)]})

    answer = phone.post(day.address, first | {"posts": ["5"], "bags_used": ["-1"]})

    assert answer.status_code == 422
    again = _report(answer)
    assert again["posts"] == ["3", "5"]
    assert phone.post(day.address, again | {"bags_used": ["8"]}).status_code == 302
    assert set(day.job.post_records.values_list("number", flat=True)) == {3, 5}
    dig.refresh_from_db()
    assert dig.finished_on == day.date
