"""Values that no one means: each is refused at its field, and no page fails on it."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from estimating.models import Estimate, SiteMeasurement
from estimating.services.starter import load_starter_rows
from firm.models import Clearance, JobSite, Role, User
from tests import firm_cast
from tests.crew_cast import send_crew
from tests.factories import TODAY, make_customer, make_firm, make_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(db: None) -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


def document(**changes: Any) -> dict[str, Any]:
    line = {"id": "A", "system": "vinyl_privacy_6ft", "legs": [{"length_in": 384.0}]}
    return {
        "format": "firm-footing-site",
        "version": 1,
        "name": "Larch Court",
        "lines": [line],
    } | changes


def hand_in(client: Client, site: JobSite, text: str) -> tuple[int, str]:
    file = SimpleUploadedFile("site.json", text.encode("utf-8"))
    answer = client.post(f"/sites/{site.pk}/document/new/", {"file": file, "based_on": "0"})
    return answer.status_code, answer.content.decode()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        # RFC 8259, section 8.2: such escapes are allowed by the grammar, yet no characters.
        (json.dumps(document(name="A \ud800 b")), "lone surrogate"),
        (json.dumps(document(**{"\ud800": 1})), "lone surrogate"),
        # PostgreSQL's jsonb keeps no U+0000 (its manual, section 8.14).
        (json.dumps(document(name="A \x00 b")), "name: This contains characters"),
        (json.dumps(document(prices={"a\x00b": {}})), "prices: This contains characters"),
        (json.dumps(document(name="<svg onload=alert(1)>")), "name: Write plain words"),
        (json.dumps(document(name="A", notes="\u003cscript\u003e")), "notes: Write plain words"),
        (json.dumps(document(name="x")).replace('"x"', "1" * 5000), "is too large"),
        (json.dumps(document()).replace("384.0", "1e999"), "is too large"),
        (json.dumps(document()).replace("384.0", "NaN"), "NaN is no number"),
        ('{"a":' * 40 + "1" + "}" * 40, "nested too deep"),
    ],
)
def test_file_that_no_database_can_hold_is_refused_by_its_field(
    as_office: Client, site: JobSite, text: str, said: str
) -> None:
    status, page = hand_in(as_office, site, text)
    assert status == 422
    assert said in page
    assert not SiteMeasurement.objects.exists()


def test_long_name_of_a_file_is_cut_for_the_estimate(as_office: Client, site: JobSite) -> None:
    # A document's name takes 200 characters, an estimate's title 120.
    assert hand_in(as_office, site, json.dumps(document(name="n" * 200)))[0] == 302
    assert as_office.post(f"/sites/{site.pk}/price/").status_code == 302
    assert Estimate.objects.get().title == "n" * 120


@pytest.mark.parametrize(
    "line",
    [
        {"description": "d" * 201},
        {"description": "Gravel", "unit": "u" * 21},
    ],
)
def test_typed_line_of_a_file_fits_its_columns(
    as_office: Client, site: JobSite, line: dict[str, Any]
) -> None:
    typed = {"key": "t1", "price": "5"} | line
    status, page = hand_in(as_office, site, json.dumps(document(typed_lines=[typed])))
    assert status == 422
    assert "characters" in page
    assert "typed_lines[0]" in page


def repair(prices: list[str], *, is_optional: str = "") -> dict[str, Any]:
    form: dict[str, Any] = {
        "customer": make_customer().pk,
        "title": "Gate",
        "lines-TOTAL_FORMS": len(prices),
        "lines-INITIAL_FORMS": 0,
    }
    for i, price in enumerate(prices):
        form |= {
            f"lines-{i}-description": "Hinge",
            f"lines-{i}-quantity": "1",
            f"lines-{i}-unit": "each",
            f"lines-{i}-unit_cost": "0",
            f"lines-{i}-price": price,
            f"lines-{i}-labor_hours": "0",
        }
    if is_optional:
        form[f"lines-{len(prices) - 1}-is_optional"] = is_optional
    return form


@pytest.mark.parametrize(
    ("form", "said"),
    [
        # 3 x 9,999,999,999.99 has 11 digits before the point; the column holds 10.
        ({"prices": ["9999999999.99"] * 3}, "be kept"),
        ({"prices": ["5", "9999999999.99"], "is_optional": "on"}, "be kept"),
    ],
)
def test_sum_that_no_column_holds_is_refused_and_every_page_still_opens(
    as_office: Client, site: JobSite, form: dict[str, Any], said: str
) -> None:
    answer = as_office.post("/estimates/repair/", repair(**form))
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Estimate.objects.exists()
    assert as_office.get("/").status_code == 200
    assert as_office.get("/estimates/").status_code == 200


def test_price_set_so_low_that_its_margin_has_no_column_is_refused(
    as_office: Client, site: JobSite
) -> None:
    # 32 ft of fence cost more than $100: (0.01 - 100) / 0.01 is -999,900 %, and the column holds
    # 5 digits before the point.
    hand_in(as_office, site, json.dumps(document()))
    as_office.post(f"/sites/{site.pk}/price/")
    row = Estimate.objects.get()
    form = {"override-target": "price", "override-value": "0.01", "override-reason": "A gift"}
    answer = as_office.post(f"/estimates/{row.pk}/by-hand/", form)
    assert answer.status_code == 422
    assert "too far from what the work costs" in answer.content.decode()
    assert not row.overrides.exists()


@pytest.mark.parametrize("day", ["0001-01-01", "0026-05-04", "9999-12-31"])
def test_day_of_a_year_that_cannot_be_is_refused(
    as_role: Callable[[Role | None], Client], db: None, day: str
) -> None:
    office = as_role(Role.OFFICE)
    place = firm_cast.make_site(jurisdiction=firm_cast.make_jurisdiction())
    ticket = place.clearances.get(kind=Clearance.Kind.LOCATE)
    form = {"state": "asked", "asked_on": "2026-05-04", "stated_start_on": day}
    answer = office.post(f"/clearances/{ticket.pk}/", form)
    assert "be right: type four digits" in answer.content.decode()
    ticket.refresh_from_db()
    assert ticket.stated_start_on is None
    assert office.get(f"/sites/{place.pk}/").status_code == 200


@pytest.mark.parametrize("version", ["\u00b2", "9" * 30, "9" * 5000, "-1", "\x00"])
def test_odd_version_of_a_document_is_no_fault(
    as_office: Client, site: JobSite, version: str
) -> None:
    assert hand_in(as_office, site, json.dumps(document()))[0] == 302
    answer = as_office.get(f"/sites/{site.pk}/document.json", {"version": version})
    assert answer.status_code in (200, 400, 404)


@pytest.mark.parametrize("number", [2**63, 10**30])
@pytest.mark.parametrize(
    "address",
    [
        "/proposals/{}/money/",
        "/days/{}/2026-05-04/jobs/{job}/",
        "/days/{crew}/2026-05-04/jobs/{}/",
        "/days/{crew}/2026-05-04/jobs/{}/sheet.pdf",
        "/jobs/{}/",
        "/calendar/plan/{}/take/",
    ],
)
def test_number_that_no_row_can_have_is_not_found(
    as_office: Client, site: JobSite, lead: User, address: str, number: int
) -> None:
    job = send_crew(lead, site)
    crew = job.crew_days.get().crew_id
    answer = as_office.get(address.format(number, job=job.pk, crew=crew))
    if "take" in address:
        answer = as_office.post(address.format(number))
    assert answer.status_code == 404
