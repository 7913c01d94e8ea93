"""Production rates as the owner changes them: from a day on, and never in the past."""

import datetime as dt
from html import unescape

import pytest
from django.test import Client
from django.utils import timezone

from estimating.mapping import rates_data
from estimating.models import ProductionRate
from estimating.services.starter import load_starter_rows
from firm.models import AuditEntry, FirmProfile
from tests.factories import make_firm
from tests.measure_pages import error_at

pytestmark = pytest.mark.django_db
HAND = "/price-book/rates/hours/dig.normal.hand/"


@pytest.fixture
def today() -> dt.date:
    return timezone.localdate()


def rate(value: float, day: dt.date, key: str = "dig.normal.hand") -> ProductionRate:
    return ProductionRate.objects.create(kind="hours", key=key, value=value, effective_from=day)


def set_from(client: Client, value: str, day: dt.date, address: str = HAND) -> tuple[int, str]:
    answer = client.post(address, {"value": value, "effective_from": day.isoformat()})
    return answer.status_code, unescape(answer.content.decode())


def ago(today: dt.date, days: int) -> dt.date:
    return today - dt.timedelta(days=days)


def test_rate_holds_from_its_day_and_the_old_one_until_then(
    as_owner: Client, today: dt.date
) -> None:
    rate(1.65, ago(today, 30))
    day = today + dt.timedelta(days=10)
    assert set_from(as_owner, "1.8", day)[0] == 302

    rows = ProductionRate.objects.all()
    now = rates_data(rows.filter(effective_from__lte=today))
    later = rates_data(rows.filter(effective_from__lte=day))
    assert (now["hours"]["dig.normal.hand"], later["hours"]["dig.normal.hand"]) == (1.65, 1.8)
    assert now["since"] == {"hours.dig.normal.hand": ago(today, 30).isoformat()}
    assert later["since"] == {"hours.dig.normal.hand": day.isoformat()}
    page = as_owner.get("/price-book/rates/").content.decode()
    assert "Dig: normal, hand" in page
    assert "1.8 h from" in page


def test_the_past_is_not_changed_and_nothing_typed_is_lost(
    as_owner: Client, today: dt.date
) -> None:
    rate(1.65, ago(today, 30))
    for day in (ago(today, 30), ago(today, 10), ago(today, 1)):
        status, page = set_from(as_owner, "1.8", day)
        assert status == 422
        assert "This day is past" in error_at(page, "effective_from")
        assert 'value="1.8"' in page

    assert [row.value for row in ProductionRate.objects.all()] == [1.65]
    assert not AuditEntry.objects.exists()


def test_a_slip_of_today_is_put_right_today_and_the_record_keeps_both(
    as_owner: Client, today: dt.date
) -> None:
    rate(1.65, ago(today, 30))
    assert set_from(as_owner, "18", today)[0] == 302
    assert set_from(as_owner, "1.8", today)[0] == 302

    assert sorted(row.value for row in ProductionRate.objects.all()) == [1.65, 1.8]
    last = AuditEntry.objects.latest("pk")
    assert (last.before["value"], last.after["value"]) == (18.0, 1.8)


def test_a_rate_that_holds_already_is_not_set_again(as_owner: Client, today: dt.date) -> None:
    rate(1.65, ago(today, 30))
    status, page = set_from(as_owner, "1.65", today)

    assert status == 422
    assert f"since {ago(today, 30)}" in error_at(page, "value")
    assert ProductionRate.objects.count() == 1


def test_a_planned_rate_is_taken_back_and_one_in_force_is_not(
    as_owner: Client, today: dt.date
) -> None:
    old = rate(1.65, ago(today, 30))
    planned = rate(1.8, today + dt.timedelta(days=5))
    assert "Take it back" in as_owner.get(HAND).content.decode()

    for row in (planned, old):
        as_owner.post(HAND, {"act": "drop", "row": str(row.pk)})
    assert list(ProductionRate.objects.all()) == [old]
    assert AuditEntry.objects.get().action == "took back a planned production rate"
    assert as_owner.post(HAND, {"act": "drop", "row": "x"}).status_code == 404


def test_a_row_of_another_rate_is_not_taken_back_here(as_owner: Client, today: dt.date) -> None:
    rate(1.65, today)
    other = rate(1.0, today + dt.timedelta(days=5), key="dig.sand.hand")

    assert as_owner.post(HAND, {"act": "drop", "row": str(other.pk)}).status_code == 404
    assert ProductionRate.objects.count() == 2


def test_the_page_shows_what_held_before(as_office: Client, today: dt.date) -> None:
    rate(1.5, ago(today, 60))
    rate(1.6, ago(today, 30))
    rate(1.7, today)
    page = as_office.get("/price-book/rates/").content.decode()

    assert "2 earlier" in page
    assert page.index("1.6 h from") < page.index("1.5 h from")


def test_office_reads_rates_and_can_not_set_them(as_office: Client, today: dt.date) -> None:
    rate(1.65, today)
    assert as_office.post(HAND, {"value": "9"}).status_code == 403
    assert HAND not in as_office.get("/price-book/rates/").content.decode()


@pytest.mark.parametrize("value", ["-1", "nan", "inf", "many"])
def test_rate_that_is_no_number_is_refused(as_owner: Client, today: dt.date, value: str) -> None:
    rate(1.65, today)
    status, page = set_from(as_owner, value, today)
    assert status == 422
    assert 'id="id_value_error"' in page
    assert ProductionRate.objects.get().value == 1.65


def test_rate_no_one_knows_is_not_found(as_owner: Client) -> None:
    assert as_owner.get("/price-book/rates/hours/fly.normal/").status_code == 404
    assert as_owner.get("/price-book/rates/limits/dig.normal.hand/").status_code == 404


def test_a_rate_that_is_missing_is_named_and_can_be_entered(
    as_owner: Client, today: dt.date
) -> None:
    # The starter set has none: such an auger often fails in shale.
    load_starter_rows(today=today)
    address = "/price-book/rates/hours/dig.shale.two_man_auger/"
    page = as_owner.get("/price-book/rates/").content.decode()
    assert address in page
    assert page.count("badge-warn") == 1

    assert "There is no such rate yet" in as_owner.get(address).content.decode()
    assert set_from(as_owner, "3.5", today, address)[0] == 302
    assert "badge-warn" not in as_owner.get("/price-book/rates/").content.decode()


def test_a_limit_is_typed_and_shown_in_the_firm_s_units(as_owner: Client, today: dt.date) -> None:
    make_firm()
    FirmProfile.objects.update(units="metric")
    load_starter_rows(today=today)
    address = "/price-book/rates/limits/access.mini_loader_in/"
    # 40 in are 1016 mm.
    assert 'value="1016 mm"' in as_owner.get(address).content.decode()

    assert set_from(as_owner, "1.10 m", today, address)[0] == 302
    row = ProductionRate.objects.get(key="access.mini_loader_in")
    assert row.value == pytest.approx(1100 / 25.4, abs=1e-6)
    assert "1100 mm" in as_owner.get("/price-book/rates/").content.decode()


def test_a_limit_in_feet_is_kept_in_feet(as_owner: Client, today: dt.date) -> None:
    load_starter_rows(today=today)
    address = "/price-book/rates/limits/crew.large_pays_ft/"

    assert set_from(as_owner, "250 ft", today, address)[0] == 302
    assert ProductionRate.objects.get(key="crew.large_pays_ft").value == 250.0


@pytest.mark.parametrize(
    ("address", "value"),
    [
        ("/price-book/rates/limits/setup.phase_crew/", "0"),
        ("/price-book/rates/swell_pct/stiff/", "201"),
    ],
)
def test_what_no_estimate_can_be_made_with_is_refused_at_its_field(
    as_owner: Client, today: dt.date, address: str, value: str
) -> None:
    load_starter_rows(today=today)
    status, page = set_from(as_owner, value, today, address)

    assert status == 422
    assert "Ensure this value" in error_at(page, "value")
    assert f'value="{value}"' in page
