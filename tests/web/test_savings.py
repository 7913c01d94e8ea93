"""Savings: what small changes would save, taken by one button, and nothing done behind a back."""

from collections.abc import Callable
from decimal import Decimal
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from estimating.models import Estimate, SiteMeasurement
from estimating.selectors.savings import savings_of
from estimating.services import estimates as service
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import AuditEntry, FirmProfile, JobSite, Role
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_site

pytestmark = [pytest.mark.django_db, pytest.mark.once]

# 289 in at 96 are 4 bays; 288 are 3.
AN_INCH_TOO_LONG = straight_line(289.0)


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


def priced(site: JobSite, document: dict[str, Any] = AN_INCH_TOO_LONG) -> Estimate:
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    return service.price_site(site=site, actor=None, now=NOW)


def page_of(client: Client, estimate: Estimate, **headers: str) -> str:
    answer = client.get(reverse("estimate_savings", args=[estimate.pk]), headers=headers)
    assert answer.status_code == 200
    return " ".join(unescape(answer.content.decode()).split())


def take(client: Client, estimate: Estimate, key: str) -> Any:
    return client.post(reverse("estimate_saving_take", args=[estimate.pk]), {"key": key})


def key_of(estimate: Estimate) -> str:
    return savings_of(estimate).rows[0].hint.key


@pytest.mark.parametrize("role", [Role.OFFICE, Role.OWNER])
def test_page_says_what_to_do_and_what_it_saves(
    site: JobSite, as_role: Callable[[Role | None], Client], role: Role
) -> None:
    estimate = priced(site)
    page = page_of(as_role(role), estimate)

    shorter = straight_line(288.0)
    other = service.price_site(site=site, actor=None, now=NOW, again=True)
    other.document = shorter
    service.work_out_again(other, now=NOW)
    saved = Decimal(estimate.result["money"]["direct_cost"]) - Decimal(
        other.result["money"]["direct_cost"]
    )
    assert saved > 0
    assert "End line A 1 in sooner:</strong> one post and one bay less, " in page
    assert f"saves <strong>${saved:,.2f}</strong>" in page
    assert f"${estimate.price_before_tax - other.price_before_tax:,.2f} lower" in page


def test_estimate_s_page_asks_for_the_part_alone(site: JobSite, as_office: Client) -> None:
    estimate = priced(site)
    address = reverse("estimate_savings", args=[estimate.pk])

    assert f'hx-get="{address}"' in as_office.get(f"/estimates/{estimate.pk}/").content.decode()
    part = page_of(as_office, estimate, hx_request="true")
    assert "<html" not in part
    assert "Take it" in part


def test_looking_changes_nothing(site: JobSite, as_office: Client) -> None:
    estimate = priced(site)
    before = Estimate.objects.filter(pk=estimate.pk).values().get()

    page_of(as_office, estimate)

    assert Estimate.objects.filter(pk=estimate.pk).values().get() == before


def test_one_click_makes_a_version_and_prices_the_estimate_with_it(
    site: JobSite, as_office: Client
) -> None:
    estimate = priced(site)
    hint = savings_of(estimate).rows[0].hint

    answer = take(as_office, estimate, hint.key)

    assert answer.status_code == 302
    newer = Estimate.objects.get(pk=estimate.pk)
    assert estimate.price_before_tax - newer.price_before_tax == hint.price
    assert newer.measurement is not None
    assert newer.measurement.version == 2
    assert newer.document == newer.measurement.document
    assert newer.document["lines"][0]["legs"][0]["length_in"] == 288.0
    entry = AuditEntry.objects.get(action="took a saving")
    assert entry.after["change"] == "End line A 1 in sooner"
    assert (entry.before["version"], entry.after["version"]) == (1, 2)
    page = " ".join(unescape(as_office.get(answer["Location"]).content.decode()).split())
    assert "Taken last: End line A 1 in sooner." in page
    assert "Go back to version 1" in page
    # The version before is as it was, and its file can be had again.
    old = SiteMeasurement.objects.get(site=site, version=1)
    assert old.document == AN_INCH_TOO_LONG
    file = as_office.get(reverse("site_document", args=[site.pk]), {"version": 1}).json()
    assert file == AN_INCH_TOO_LONG


def test_a_saving_is_taken_back_by_one_click(site: JobSite, as_office: Client) -> None:
    estimate = priced(site)
    take(as_office, estimate, key_of(estimate))
    undo = reverse("estimate_saving_undo", args=[estimate.pk])

    answer = as_office.post(undo, follow=True)
    assert answer.status_code == 200
    said = "The site stands as it did in version 1, kept as version 3, and is priced so."
    assert said in answer.content.decode()

    now = Estimate.objects.get(pk=estimate.pk)
    assert now.measurement is not None
    assert (now.measurement.version, now.measurement.document) == (3, AN_INCH_TOO_LONG)
    assert (now.price, now.document) == (estimate.price, AN_INCH_TOO_LONG)
    assert AuditEntry.objects.get(action="took a saving back").after["as_version"] == 1
    # There is nothing more to take back, and the saving is on offer again.
    again = as_office.post(undo)
    assert again.status_code == 422
    assert "there is none to take back" in again.content.decode()
    assert "Go back to version" not in page_of(as_office, now)
    assert "End line A 1 in sooner" in page_of(as_office, now)


def test_what_was_measured_after_a_saving_is_not_taken_back(
    site: JobSite, as_office: Client
) -> None:
    estimate = priced(site)
    take(as_office, estimate, key_of(estimate))
    save_measurement(site=site, document=straight_line(300.0), based_on=2, actor=None, now=NOW)

    assert "Go back to version" not in page_of(as_office, estimate)
    answer = as_office.post(reverse("estimate_saving_undo", args=[estimate.pk]))
    assert answer.status_code == 422
    assert SiteMeasurement.objects.count() == 3


def test_offcuts_are_bought_by_a_figure_set_by_hand(site: JobSite, as_office: Client) -> None:
    # 3 x 98 + 42 and 2 x 98 + 57: panels of 40 and 55 in come out of one of 96.
    document = straight_line(336.0)
    document["lines"][0]["system"] = "steel_panel_4ft"
    other = {"id": "B", "system": "steel_panel_4ft", "start_y_in": 500.0}
    document["lines"].append(other | {"legs": [{"length_in": 253.0}]})
    estimate = priced(site, document)
    rows = savings_of(estimate).rows
    saving = next(row for row in rows if row.hint.offcuts)

    answer = take(as_office, estimate, saving.hint.key)

    assert answer.status_code == 302
    override = Estimate.objects.get(pk=estimate.pk).overrides.get()
    assert (override.target, override.value) == ("quantity:steel_panel_4ft_8ft", Decimal(6))
    assert override.reason == "offcut of B bay 3 makes A bay 4"
    assert SiteMeasurement.objects.count() == 1
    page = " ".join(unescape(as_office.get(answer["Location"]).content.decode()).split())
    assert "drop that figure under “Set by hand”" in page


def test_a_second_click_is_refused_and_takes_nothing(site: JobSite, as_office: Client) -> None:
    estimate = priced(site)
    key = key_of(estimate)
    take(as_office, estimate, key)

    answer = take(as_office, estimate, key)

    assert answer.status_code == 422
    assert "This saving is none any more" in answer.content.decode()
    assert SiteMeasurement.objects.count() == 2


def test_a_site_changed_meanwhile_is_not_written_over(site: JobSite, as_office: Client) -> None:
    estimate = priced(site)
    key = key_of(estimate)
    save_measurement(site=site, document=straight_line(300.0), based_on=1, actor=None, now=NOW)

    answer = take(as_office, estimate, key)

    assert answer.status_code == 422
    page = unescape(answer.content.decode())
    assert "version 2 is the newest, and this estimate was priced from version 1" in page
    assert "Take it" not in page
    assert SiteMeasurement.objects.count() == 2
    assert Estimate.objects.get(pk=estimate.pk).price == estimate.price


def test_an_estimate_that_went_out_is_not_changed(site: JobSite, as_office: Client) -> None:
    estimate = priced(site)
    key = key_of(estimate)
    Estimate.objects.filter(pk=estimate.pk).update(state="frozen")

    page = page_of(as_office, estimate)
    answer = take(as_office, estimate, key)

    assert "make a revision of it" in page
    assert "Take it" not in page
    assert answer.status_code == 422
    assert SiteMeasurement.objects.count() == 1


def test_a_site_without_savings_says_so(site: JobSite, as_office: Client) -> None:
    assert "would save anything" in page_of(as_office, priced(site, straight_line(288.0)))


def test_a_metric_firm_reads_millimetres(site: JobSite, as_office: Client) -> None:
    FirmProfile.objects.update(units=FirmProfile.Units.METRIC)
    # 1 in is 25.4 mm.
    assert "End line A 25 mm sooner" in page_of(as_office, priced(site))


def test_crew_leads_do_not_get_in(site: JobSite, as_role: Callable[[Role | None], Client]) -> None:
    estimate = priced(site)
    lead, stranger = as_role(Role.CREW_LEAD), as_role(None)
    address = reverse("estimate_savings", args=[estimate.pk])
    button = reverse("estimate_saving_take", args=[estimate.pk])

    undo = reverse("estimate_saving_undo", args=[estimate.pk])
    for client, status in ((lead, 403), (stranger, 302)):
        answers = [client.get(address), client.post(button), client.post(undo)]
        assert [answer.status_code for answer in answers] == [status] * 3
    assert SiteMeasurement.objects.count() == 1


def test_page_asks_few_questions_of_the_database(
    site: JobSite, as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    estimate = priced(site)
    page_of(as_office, estimate)
    with django_assert_num_queries(8):
        page_of(as_office, estimate)
