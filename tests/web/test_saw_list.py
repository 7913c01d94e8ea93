"""The saw list on the estimate's page, on the crew's sheet and in the price book's form."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from estimating.models import PriceItem
from estimating.services.estimates import price_site
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import FirmProfile
from scheduling.models import Crew
from tests.crew_cast import may, put_on
from tests.day_cast import address, make_job, page_of, read_pdf, setting_day, words
from tests.factories import NOW, TODAY, make_firm, make_site
from tests.sheet_cast import Json, fence_line

pytestmark = [pytest.mark.django_db, pytest.mark.once]
WOOD = "wood_privacy_side_6ft"


def document(*lines: Json) -> Json:
    known = {"format": "firm-footing-site", "version": 1, "name": "Larch Court"}
    return {**known, "lines": list(lines)}


def estimate_page(client: Client, *lines: Json, **firm: object) -> str:
    make_firm(**firm)
    load_starter_rows(today=TODAY)
    site = make_site()
    save_measurement(site=site, document=document(*lines), based_on=0, actor=None, now=NOW)
    estimate = price_site(site=site, actor=None, now=NOW)
    return words(page_of(client, reverse("estimate", args=[estimate.pk])))


def test_the_estimate_shows_what_each_length_is_cut_into(as_office: Client) -> None:
    # 240 in: 3 bays of 80, 9 rails. 96 - 80 - 1/8 = 15-7/8, less than the 24 that are kept.
    seen = estimate_page(as_office, fence_line(240.0, system=WOOD))

    assert "Saw list: Wood rail 2 x 4, 8 ft 9 lengths, proven cheapest" in seen
    assert "9 \N{MULTIPLICATION SIGN} 8-0 80 in 15-7/8 in, scrap" in seen
    assert "Offcuts of 24 in or more are kept." in seen


def test_short_bays_come_out_of_long_lengths(as_office: Client) -> None:
    # 60 in between two ends: 3 rails of 60; 3 x 60 + 2 / 8 of 192 leave 11-5/8: 15.60, not 22.20.
    seen = estimate_page(as_office, fence_line(60.0, system=WOOD))

    assert "Saw list: Wood rail 2 x 4, 16 ft 1 length, proven cheapest" in seen
    assert "1 \N{MULTIPLICATION SIGN} 16-0 3 \N{MULTIPLICATION SIGN} 60 in 11-5/8 in, scrap" in seen


def test_the_firm_s_rules_are_used(as_office: Client) -> None:
    seen = estimate_page(
        as_office, fence_line(240.0, system=WOOD), keep_offcut_in=12.0, saw_kerf_in=0.25
    )

    # 96 - 80 - 1/4.
    assert "9 \N{MULTIPLICATION SIGN} 8-0 80 in 15-3/4 in, kept" in seen


class TestCrewSheet:
    def test_tells_what_to_saw_and_no_price(self, as_lead: Client, red_crew: Crew) -> None:
        # Three rails of 80 in to each of three bays, and three of 40 in round the corner.
        job = make_job(fence_line([240.0, 40.0], system=WOOD))
        setting_day(red_crew, job)
        put_on(job, "hang", red_crew, may(8))

        seen = words(page_of(as_lead, address(red_crew, job, may(8))))
        _, printed = read_pdf(as_lead, address(red_crew, job, may(8), name="day_sheet_pdf"))
        for told in (seen, printed):
            # 96 - 80 - 1/8; 144 - 80 - 40 - 2 x 1/8.
            assert "8 \N{MULTIPLICATION SIGN} 8-0 80 in; scrap 15-7/8 in" in told
            assert "1 \N{MULTIPLICATION SIGN} 12-0 80 in + 40 in; scrap 23-3/4 in" in told
            assert "proven" not in told
            assert "$" not in told

    def test_says_nothing_where_each_length_gives_one_piece(
        self, as_lead: Client, red_crew: Crew
    ) -> None:
        job = make_job(fence_line(240.0, system=WOOD))
        setting_day(red_crew, job)
        put_on(job, "hang", red_crew, may(8))
        seen = words(page_of(as_lead, address(red_crew, job, may(8))))
        assert "Cut list" in seen
        assert "Saw list" not in seen


class TestPriceBookForm:
    def save(self, client: Client, length: str) -> object:
        values = {
            "name": "Cedar rail",
            "key": "cedar_rail",
            "kind": "material",
            "unit_cost": "21.75",
            "purchase_unit": "each",
            "pack": "1",
            "unit": "each",
            "waste_pct": "0",
            "stock_length_in": length,
            "checked_on": dt.date(2026, 1, 5).isoformat(),
            "is_active": "on",
        }
        return client.post("/price-book/new/", values)

    def test_keeps_a_length_in_feet(self, as_office: Client) -> None:
        make_firm()
        self.save(as_office, "16 ft")

        assert PriceItem.objects.get().stock_length_in == 192.0
        page = as_office.get(f"/price-book/{PriceItem.objects.get().pk}/").content.decode()
        assert 'value="16-0"' in page

    def test_refuses_no_length_at_all_and_loses_nothing(self, as_office: Client) -> None:
        make_firm()
        answer = self.save(as_office, "long")

        page = answer.content.decode()  # type: ignore[attr-defined]
        assert 'id="id_stock_length_in_error"' in page
        assert 'value="long"' in page
        assert not PriceItem.objects.exists()

    def test_the_database_refuses_a_length_of_nothing(self) -> None:
        row = PriceItem(key="rail", name="Rail", unit_cost=1, stock_length_in=0)

        with (
            pytest.raises(IntegrityError, match="price_stock_length_positive"),
            transaction.atomic(),
        ):
            row.save()


def test_the_owner_sets_saw_and_offcuts(as_owner: Client) -> None:
    make_firm()
    page = as_owner.get("/settings/").content.decode()

    assert 'name="saw_kerf_in"' in page
    assert 'name="keep_offcut_in"' in page
    assert FirmProfile.objects.get().keep_offcut_in == 24.0
