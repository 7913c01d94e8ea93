"""The pages of the air: who sees them, what is typed, and what is refused at its field."""

import datetime as dt
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from firm.models import FirmProfile
from scheduling.models import AirTemperature, PlanChange, RainDay
from tests.crew_cast import make_full_job
from tests.factories import NOW

pytestmark = pytest.mark.django_db

FIRST = dt.date(2026, 5, 1)
MAY = f"{reverse('weather')}?from={FIRST}"


def typed(changes: dict[str, str] | None = None, **initial: str) -> dict[str, str]:
    """Return two weeks' lines as the empty page sends them, with some fields typed into."""
    days = [str(FIRST + dt.timedelta(days=count)) for count in range(14)]
    names = [f"{day}-{name}" for day in days for name in ("low_f", "high_f")]
    values = dict.fromkeys(names, "") | {f"initial-{name}": "" for name in names}
    return values | (changes or {}) | initial


def test_page_begins_three_days_ago(as_office: Client) -> None:
    for address in (reverse("weather"), f"{reverse('weather')}?from=someday"):
        page = as_office.get(address).content.decode()
        first = timezone.localdate() - dt.timedelta(days=3)
        assert f"{first:%a %b} {first.day}, {first.year}" in page
        assert page.count("Low, °F</label>") == 14


def test_office_writes_down_two_days(as_office: Client) -> None:
    values = typed({"2026-05-02-low_f": "41.5", "2026-05-02-high_f": "63"})
    answer = as_office.post(MAY, values, follow=True)
    page = unescape(answer.content.decode())
    assert "The weather of 1 day is written down" in page
    assert 'value="41.5"' in page
    row = AirTemperature.objects.get()
    assert (row.date, row.low_f, row.high_f) == (dt.date(2026, 5, 2), 41.5, 63)
    is_ahead = dt.date(2026, 5, 2) >= timezone.localdate()
    assert row.source == ("forecast" if is_ahead else "entered")


def test_line_that_another_changed_meanwhile_is_left_alone(as_office: Client) -> None:
    AirTemperature.objects.create(
        date=dt.date(2026, 5, 3), low_f=50, high_f=60, source="entered", entered_at=NOW
    )
    # The page was drawn before, with an empty line, and nobody typed into it.
    as_office.post(MAY, typed({"2026-05-02-low_f": "41", "2026-05-02-high_f": "63"}))
    assert AirTemperature.objects.count() == 2


def test_line_that_is_emptied_is_taken_away(as_office: Client) -> None:
    AirTemperature.objects.create(
        date=dt.date(2026, 5, 3), low_f=50, high_f=60, source="entered", entered_at=NOW
    )
    name = "2026-05-03"
    emptied = {f"initial-{name}-low_f": "50", f"initial-{name}-high_f": "60"}
    as_office.post(MAY, typed(emptied))
    assert not AirTemperature.objects.exists()


@pytest.mark.parametrize(
    ("low", "high", "field", "words"),
    [
        ("63", "41", "low_f", "A day's low of 63 \u00b0F stands above its high of 41 \u00b0F."),
        ("41", "", "high_f", "Give the high as well."),
        ("", "63", "low_f", "Give the low as well."),
        ("cold", "63", "low_f", "Type a figure such as 59."),
        ("nan", "63", "low_f", "Type a figure such as"),
        ("41", "200", "high_f", "This must be from -80 to 140."),
        ("-90", "63", "low_f", "This must be from -80 to 140."),
    ],
)
def test_slip_is_refused_at_its_field_and_everything_typed_is_kept(
    as_office: Client, low: str, high: str, field: str, words: str
) -> None:
    name = "2026-05-02"
    good = {"2026-05-04-low_f": "44", "2026-05-04-high_f": "58"}
    answer = as_office.post(MAY, typed({f"{name}-low_f": low, f"{name}-high_f": high} | good))
    page = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert words in page
    error = page.index(f'id="id_{name}-{field}_error"')
    assert page.index(words) > error
    for kept in filter(None, (low, high, "44", "58")):
        assert f'value="{kept}"' in page
    assert not AirTemperature.objects.exists()


def test_weather_of_two_days_is_one_thing(as_office: Client) -> None:
    days = {f"2026-05-0{day}-{name}": "50" for day in (2, 3) for name in ("low_f", "high_f")}
    page = unescape(as_office.post(MAY, typed(days), follow=True).content.decode())
    assert "The weather of 2 days is written down: the plan follows it." in page


def test_usual_air_of_the_months_is_written_down(as_owner: Client) -> None:
    address = reverse("weather_months")
    page = as_owner.get(address).content.decode()
    assert "January" in page
    assert "December" in page
    names = [f"{month}-{name}" for month in range(1, 13) for name in ("low_f", "high_f")]
    values = dict.fromkeys(names, "") | {f"initial-{name}": "" for name in names}
    answer = as_owner.post(address, values | {"5-low_f": "48", "5-high_f": "69"}, follow=True)
    assert "The weather of 1 month is written down" in answer.content.decode()
    assert (AirTemperature.objects.get().month, AirTemperature.objects.get().source) == (5, "usual")
    refused = as_owner.post(address, values | {"6-low_f": "80", "6-high_f": "60"})
    assert refused.status_code == 422
    assert as_owner.post(address, values).status_code == 302


def test_pages_take_few_queries(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    as_office.get(MAY)
    # Session, user, air, rain, unseen changes and the firm's units: no query for each line.
    with django_assert_num_queries(6):
        as_office.get(MAY)
    # Session, user, the months and the units.
    with django_assert_num_queries(4):
        as_office.get(reverse("weather_months"))


@pytest.mark.parametrize(("text", "kept"), [("0.4", 0.4), ("12.7 mm", 0.5), ("0", 0)])
def test_rain_of_a_day_is_written_down_in_any_unit(
    as_office: Client, text: str, kept: float
) -> None:
    answer = as_office.post(MAY, typed({"2026-05-06-rain_in": text}), follow=True)
    assert "The weather of 1 day is written down" in unescape(answer.content.decode())
    row = RainDay.objects.get()
    assert row.date == dt.date(2026, 5, 6)
    assert row.rain_in == pytest.approx(kept)
    # Emptied again it is taken away.
    values = typed({"2026-05-06-rain_in": ""}) | {"initial-2026-05-06-rain_in": f"{kept:g} in"}
    as_office.post(MAY, values)
    assert not RainDay.objects.exists()


@pytest.mark.parametrize("text", ["-1", "much", "21", "600 mm"])
def test_rain_that_never_fell_is_refused_and_nothing_typed_is_lost(
    as_office: Client, text: str
) -> None:
    values = typed({"2026-05-06-rain_in": text, "2026-05-07-low_f": "41.5"})
    answer = as_office.post(MAY, values | {"2026-05-07-high_f": "60"})
    assert answer.status_code == 422
    assert f'value="{text}"' in answer.content.decode()
    assert 'value="41.5"' in answer.content.decode()
    assert not RainDay.objects.exists()
    assert not AirTemperature.objects.exists()


def test_metric_firm_reads_and_writes_celsius(as_office: Client) -> None:
    # 5 C are 9 x 5 / 5 + 32 = 41 F, 17.2 C are 62.96 F; 50 F are 10 C (the scales' definition).
    FirmProfile.objects.update_or_create(pk=1, defaults={"units": "metric"})
    values = typed(
        {
            "2026-05-02-low_f": "5",
            "2026-05-02-high_f": "17.2 \u00b0C",
            "2026-05-03-low_f": "-1",
            "2026-05-03-high_f": "50 F",
        }
    )
    page = unescape(as_office.post(MAY, values, follow=True).content.decode())
    assert page.count("Low, °C</label>") == 14
    first, second = AirTemperature.objects.order_by("date")
    assert [first.low_f, first.high_f] == pytest.approx([41, 62.96])
    assert [second.low_f, second.high_f] == pytest.approx([30.2, 50])
    assert 'value="17.2"' in page
    assert 'value="10"' in page
    # What was not typed into stays to the last digit, though it is shown rounded.
    kept = typed() | {
        f"{prefix}2026-05-02-{name}": shown
        for prefix in ("", "initial-")
        for name, shown in (("low_f", "5"), ("high_f", "17.2"))
    }
    as_office.post(MAY, kept | {"2026-05-03-low_f": "-1", "initial-2026-05-03-low_f": "-1"})
    assert AirTemperature.objects.get(date="2026-05-02").high_f == pytest.approx(62.96)


def test_metric_firm_is_told_the_limits_in_celsius(as_office: Client) -> None:
    FirmProfile.objects.update_or_create(pk=1, defaults={"units": "metric"})
    answer = as_office.post(MAY, typed({"2026-05-02-low_f": "99", "2026-05-02-high_f": "100"}))
    assert answer.status_code == 422
    assert 'value="99"' in answer.content.decode()


def test_metric_firm_is_told_in_celsius_that_the_low_is_above_the_high(as_office: Client) -> None:
    FirmProfile.objects.update_or_create(pk=1, defaults={"units": "metric"})
    answer = as_office.post(MAY, typed({"2026-05-02-low_f": "17.2", "2026-05-02-high_f": "5"}))
    assert answer.status_code == 422
    page = unescape(answer.content.decode())
    assert "A day's low of 17.2 \u00b0C stands above its high of 5 \u00b0C." in page


def test_what_the_weather_moved_is_said_where_it_was_typed(as_office: Client) -> None:
    assert "see what moved and why" not in as_office.get(MAY).content.decode()
    job = make_full_job(1, on=dt.date(2026, 5, 4))
    PlanChange.objects.create(job=job, cause=PlanChange.Cause.AIR, made_at=timezone.now(), moves=[])
    page = as_office.get(MAY).content.decode()
    assert "see what moved and why" in page
    assert reverse("plan_changes") in page
