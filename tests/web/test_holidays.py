"""The page of holidays, and the owner's choice of whose they are."""

import pytest
from django.forms.models import model_to_dict
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from firm.forms.profile import ProfileForm
from firm.models import FirmProfile
from scheduling.models import Crew, WorkedHoliday

pytestmark = pytest.mark.django_db
CHRISTMAS = "12-25"


@pytest.fixture
def year() -> int:
    return timezone.localdate().year


def keep(country: str, state: str = "") -> None:
    FirmProfile.objects.update_or_create(
        pk=1, defaults={"name": "Firm", "holiday_country": country, "holiday_state": state}
    )


def test_office_says_on_which_holidays_crews_work(
    as_office: Client, year: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    keep("US")
    Crew.objects.create(name="North")
    day = f"{year}-{CHRISTMAS}"
    # Session, person, profile, the holidays worked on.
    with django_assert_num_queries(4):
        html = as_office.get(reverse("holidays")).content.decode()
    assert "Christmas Day" in html
    assert as_office.post(reverse("holidays"), {"worked": [day]}).status_code == 302
    assert str(WorkedHoliday.objects.get().date) == day
    assert f'value="{day}"' in as_office.get(reverse("holidays")).content.decode()
    week = as_office.get(reverse("week"), {"from": day}).content.decode()
    assert "Christmas Day: crews work" in week
    assert as_office.post(reverse("holidays"), {}).status_code == 302
    for name, query in (("week", {"from": day}), ("month", {"month": f"{year}-12"})):
        html = as_office.get(reverse(name), query).content.decode()
        assert "Christmas Day: no crew works" in html


def test_day_that_is_no_holiday_is_refused_and_nothing_is_kept(
    as_office: Client, year: int
) -> None:
    keep("US")
    answer = as_office.post(reverse("holidays"), {"worked": [f"{year}-12-23"]})
    assert answer.status_code == 422
    assert not WorkedHoliday.objects.exists()


@pytest.mark.parametrize("asked", ["1700", "9999999999999", "next", "-1", "\u0662"])
def test_year_nobody_plans_is_not_found(as_office: Client, asked: str) -> None:
    assert as_office.get(reverse("holidays"), {"year": asked}).status_code == 404


def test_firm_without_holidays_is_told_where_to_choose(as_office: Client) -> None:
    html = as_office.get(reverse("holidays")).content.decode()
    assert "The owner chooses the country" in html


@pytest.mark.parametrize(
    ("country", "state", "kept", "words"),
    [
        ("US", "Ohio", "OH", ""),
        ("CA", "on", "ON", ""),
        ("", "", "", ""),
        ("US", "Ontario", None, "&#x27;Ontario&#x27; has no holidays of its own in that country."),
        ("", "OH", None, "Choose the country first."),
        ("XX", "OH", None, "Select a valid choice."),
    ],
)
def test_state_is_kept_by_its_code_or_refused(
    country: str, state: str, kept: str | None, words: str
) -> None:
    data = {
        name: value
        for name, value in model_to_dict(FirmProfile(name="Firm")).items()
        if value is not None
    }
    form = ProfileForm(data | {"holiday_country": country, "holiday_state": state})
    form.is_valid()
    if kept is None:
        errors = f"{form.errors.get('holiday_state', '')}{form.errors.get('holiday_country', '')}"
        assert words in errors
        assert f'value="{state}"' in str(form["holiday_state"])
    else:
        assert form.cleaned_data["holiday_state"] == kept


def test_thanksgiving_moves_with_the_country(as_office: Client) -> None:
    # Canada's is the second Monday of October, October 12 in 2026; the United States' in November.
    for state, month, day in (("ON", "2026-10", "Mon Oct 12"), ("", "2026-11", "Thu Nov 26")):
        keep("CA" if state else "US", state)
        Crew.objects.get_or_create(name="North")
        html = as_office.get(reverse("month"), {"month": month}).content.decode()
        row = next(part for part in html.split("<tr") if f"{day}</a>" in part)
        assert "Thanksgiving Day" in row
