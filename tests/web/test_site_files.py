"""Site documents handed in as files: what is wrong in them is named, what is right is kept."""

import json
import re
from html import unescape
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from estimating.models import FenceSystem, PriceItem, SiteMeasurement
from estimating.selectors.measurements import latest_measurement
from estimating.services.starter import load_starter_rows
from firm.models import JobSite
from tests.db.test_measurements import straight_line
from tests.factories import TODAY, make_firm, make_site
from tests.measure_pages import document_of, measure, page

pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


def upload(client: Client, site: JobSite, content: str | bytes) -> Any:
    data = content.encode() if isinstance(content, str) else content
    file = SimpleUploadedFile("site.json", data, content_type="application/json")
    newest = latest_measurement(site)
    fields = {"file": file, "based_on": str(newest.version if newest else 0)}
    return client.post(reverse("site_document_upload", args=[site.pk]), fields)


@pytest.mark.parametrize("version", ["-1", "0", "2", "1.0", "newest", "99999999999999999999", "²"])
def test_a_version_that_does_not_exist_is_not_found(
    site: JobSite, as_office: Client, version: str
) -> None:
    measure(as_office, site, page())
    address = reverse("site_document", args=[site.pk])
    assert as_office.get(address, {"version": "1"}).status_code == 200
    assert as_office.get(address, {"version": version}).status_code == 404


def broken(path: str, value: Any) -> str:
    document = straight_line()
    place: Any = document
    *way, last = re.findall(r"\w+", path)
    for step in way:
        place = place[int(step) if step.isdigit() else step]
    place[last] = value
    return json.dumps(document)


def test_document_goes_out_and_comes_in_again(site: JobSite, as_office: Client) -> None:
    measure(as_office, site, page())
    answer = as_office.get(reverse("site_document", args=[site.pk]))
    assert "attachment" in answer["Content-Disposition"]
    document = json.loads(answer.content)
    document["lines"][0]["legs"][0]["length_in"] = 660.0

    upload(as_office, site, json.dumps(document))

    assert document_of(site) == document


def test_a_file_does_not_replace_what_a_colleague_saved_meanwhile_unasked(
    site: JobSite, as_office: Client
) -> None:
    address = reverse("site_document_upload", args=[site.pk])
    assert 'name="based_on" value="0"' in as_office.get(address).content.decode()
    measure(as_office, site, page())
    theirs = document_of(site)

    def send(based_on: str) -> Any:
        text = json.dumps(straight_line(660.0)).encode()
        file = SimpleUploadedFile("site.json", text, content_type="application/json")
        return as_office.post(address, {"file": file, "based_on": based_on})

    for based_on in ("0", "", "x", "9" * 30):
        answer = send(based_on)
        assert answer.status_code == 422
        assert document_of(site) == theirs
    assert 'name="based_on" value="1"' in answer.content.decode()
    assert "saved version 1 of this site after you opened this page" in (send("0").content.decode())
    assert send("1").status_code == 302
    assert document_of(site) == straight_line(660.0)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("{", "this is not JSON"),
        (b"\xff\xfe", "not a JSON file"),
        ("[" * 100_000, "nested too deep"),
        ("[]", "not a site document"),
        ("{}", "format"),
        (broken("lines[0].legs[0].length_in", -600), "lines[0].legs[0].length_in"),
        (broken("lines[0].legs[0].length_in", "long"), "lines[0].legs[0].length_in"),
        (broken("lines[0].colour", "white"), "lines[0].colour"),
        (broken("lines", []), "lines"),
        (broken("lines[0].system", "bamboo"), "lines[0].system"),
        (broken("typed_lines", [{"description": "Stump", "unit_cost": "-1"}]), "typed_lines[0]"),
        (broken("overrides", [{"target": "price", "value": "x"}]), "overrides[0]"),
        (
            broken("overrides", [{"target": "quantity:vinyl_cap", "value": "3", "reason": "x"}]),
            "overrides[0].target names 'vinyl_cap', which is not in the price book.",
        ),
    ],
)
def test_wrong_file_is_refused_naming_the_field(
    site: JobSite, as_office: Client, content: str | bytes, words: str
) -> None:
    answer = upload(as_office, site, content)
    assert answer.status_code == 422
    assert words in unescape(answer.content.decode())
    assert not SiteMeasurement.objects.exists()


def test_a_figure_for_an_item_out_of_use_does_not_hold_the_page_up(
    site: JobSite, as_office: Client
) -> None:
    figure = {"target": "quantity:vinyl_cap_5x5", "value": "3", "reason": "x"}
    assert upload(as_office, site, broken("overrides", [figure])).status_code == 302
    PriceItem.objects.filter(key="vinyl_cap_5x5").update(key="another_cap")

    typed = page(**{"lines-0-system": "chain_link_4ft", "site-based_on": "1"})
    assert measure(as_office, site, typed).status_code == 302
    assert document_of(site)["overrides"] == [figure]


def test_a_field_of_a_wrong_file_is_named_once(site: JobSite, as_office: Client) -> None:
    answer = upload(as_office, site, broken("lines[0].legs[0].length_in", -600))
    assert answer.content.decode().count("lines[0].legs[0].length_in") == 1


def test_file_of_40_mb_is_refused_by_its_size(site: JobSite, as_office: Client) -> None:
    answer = upload(as_office, site, b" " * (40 * 1024 * 1024))
    assert answer.status_code == 422
    assert "40 MB" in answer.content.decode()


def with_own_system(**changes: Any) -> dict[str, Any]:
    """A site of two lines, the second of a fence system that the file brings along."""
    definition = dict(FenceSystem.objects.get(key="vinyl_privacy_6ft").definition)
    document = straight_line()
    second = {**document["lines"][0], "id": "B", "name": "Line B", "system": "mine"}
    document["lines"].append(second)
    document["fence_systems"] = {"mine": {"name": "Mine", **definition, **changes}}
    return document


GOLDEN = {"item": "golden_post", "width_in": 5.0, "length_in": 108.0}


@pytest.mark.parametrize(
    "change",
    [
        {"max_on_centre_in": None},
        {"max_on_centre_in": 3},
        {"posts": {}},
        {"height_in": "tall"},
        {"wind": "strong"},
        {"hole": None},
        {"posts": {"end": GOLDEN}},
    ],
)
def test_a_file_with_one_bad_system_is_kept_and_its_lines_are_findings(
    site: JobSite, as_office: Client, change: dict[str, Any]
) -> None:
    document = with_own_system(**change)
    answer = upload(as_office, site, json.dumps(document))
    assert answer.status_code == 302
    assert document_of(site) == document

    measured = unescape(as_office.get(reverse("site_measure", args=[site.pk])).content.decode())
    assert "Line A: " in measured
    # Findings name a place in words; the file's own paths are for the file.
    assert "fence_systems." not in measured
    is_left_out = "golden_post" not in json.dumps(change)
    assert ("Line B is left out, with its posts and its price" in measured) == is_left_out
    assert is_left_out or "golden_post" in measured

    # The rest is priced, with what stops it named; every page of the estimate stands.
    priced = as_office.post(reverse("estimate_new", args=[site.pk]), follow=True)
    assert priced.status_code == 200
    assert "Line A" in priced.content.decode()


def test_a_file_whose_system_is_no_system_at_all_is_refused(
    site: JobSite, as_office: Client
) -> None:
    document = with_own_system()
    document["fence_systems"]["mine"] = 3
    assert upload(as_office, site, json.dumps(document)).status_code == 422
    assert not SiteMeasurement.objects.exists()


def test_a_mistake_of_a_line_is_refused_beside_a_bad_system(
    site: JobSite, as_office: Client
) -> None:
    document = with_own_system(height_in="tall")
    document["lines"][0]["system"] = "bamboo"
    answer = upload(as_office, site, json.dumps(document))
    assert answer.status_code == 422
    assert "There is no fence system 'bamboo'" in unescape(answer.content.decode())
