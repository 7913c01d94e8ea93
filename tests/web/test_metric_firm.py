"""A firm that chose metres sees no feet, and what it types is kept in inches."""

import re
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from estimating.models import Estimate, PriceItem
from estimating.services.estimates import price_site
from estimating.services.measurements import save_measurement
from estimating.services.proposal_building import content_of
from estimating.services.proposals import create_draft
from estimating.services.starter import load_starter_rows
from firm.models import Enquiry, FirmProfile, JobSite, Jurisdiction
from firm.selectors.profile import units_of_one_request
from firm.templatetags.measures import bought
from firm.views import sites
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_customer, make_firm, make_sent_proposal, make_site
from tests.measure_pages import typed_in
from tests.web.answers import body_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]

# A figure with a unit of feet, inches or yards behind it, or feet and inches as 12-3.
FEET = re.compile(
    r"\d\s?(?:ft|feet|foot|inch(?:es)?|yd|ft\u00b3|yd\u00b3)\b"
    r"|\d in\b(?! each)|\byd\u00b3|\bft\u00b3"
)
FEET_INCHES = re.compile(r"(?<![\d-])\d{1,3}-\d{1,2}(?: \d{1,2}/\d{1,2})?(?![\d-])")


@pytest.fixture
def site() -> JobSite:
    make_firm(units=FirmProfile.Units.METRIC)
    load_starter_rows(today=TODAY)
    place = make_site(
        jurisdiction=Jurisdiction.objects.create(
            name="Dunmere", frost_depth_in=30, height_limit_rear_in=72, hand_dig_tolerance_in=24
        ),
        access_width_in=36,
    )
    document = straight_line(600.0)
    document.pop("conditions", None)  # the place's own stand in the form
    save_measurement(site=place, document=document, based_on=0, actor=None, now=NOW)
    return place


def words_of(html: str) -> str:
    """Return the words of a page: no tags, no scripts; the values of fields stay."""
    values = " ".join(re.findall(r'value="([^"]*)"', html))
    main = html[html.index("<main") :]
    return unescape(re.sub(r"<[^>]*>", " ", main)) + " " + unescape(values)


def without(html: str, *patterns: str) -> str:
    for pattern in patterns:
        html, count = re.subn(pattern, "", html, flags=re.DOTALL)
        assert count, pattern
    return html


def page(client: Client, name: str, pk: int) -> str:
    return client.get(reverse(name, args=[pk])).content.decode()


# Names of items are the firm's own words.
ITEM_NAMES = r'<th scope="row">(?:<a [^>]*>)?[^<]*'
SYSTEM_NAMES = r"<h3>.*?</h3>|<option[^>]*>.*?</option>"


def test_site_page_is_in_metres(site: JobSite, as_office: Client) -> None:
    words = words_of(page(as_office, "site", site.pk))
    # 30 x 25.4 = 762; 72 x 25.4 = 1828.8; 36 x 25.4 = 914.4
    for measure in ("762 mm", "1829 mm", "914 mm"):
        assert measure in words
    assert not [words[m.start() - 60 : m.end() + 30] for m in FEET.finditer(words)]


def test_measure_page_shows_and_takes_metres(site: JobSite, as_office: Client) -> None:
    html = page(as_office, "site_measure", site.pk)
    words = words_of(without(html, SYSTEM_NAMES))
    assert "15.240 m" in words  # 600 x 25.4 = 15240
    assert "762 mm" in words
    assert not [words[m.start() - 60 : m.end() + 30] for m in FEET.finditer(words)]
    assert not [words[m.start() - 60 : m.end() + 30] for m in FEET.finditer(words)]
    assert not FEET_INCHES.search(words)


def test_length_typed_in_metres_is_kept_in_inches(site: JobSite, as_office: Client) -> None:
    data = typed_in(page(as_office, "site_measure", site.pk))
    data |= {"act": "save", "lines-0-legs-0-length_in": "12.345"}
    saved = as_office.post(reverse("site_measure", args=[site.pk]), data)
    assert saved.status_code == 302
    document = site.measurements.order_by("-version")[0].document
    assert document["lines"][0]["legs"][0]["length_in"] == pytest.approx(486.0236)  # 12345 / 25.4
    assert document["conditions"]["frost_depth_in"] == pytest.approx(30)
    assert "12.345 m" in page(as_office, "site_measure", site.pk)


def test_estimate_page_is_in_metres(site: JobSite, as_office: Client) -> None:
    estimate = price_site(site=site, actor=None, now=NOW)
    html = page(as_office, "estimate", estimate.pk)
    words = words_of(without(html, SYSTEM_NAMES, ITEM_NAMES))
    assert "15.240 m long, " in words
    assert "Price a metre" in words
    assert " m\u00b3" in words
    assert " litres net" in words
    assert not [words[m.start() - 60 : m.end() + 30] for m in FEET.finditer(words)]
    layout = html[html.index('id="posts"') : html.index('id="material"')]
    assert not FEET_INCHES.search(re.sub(r"<[^>]*>", " ", layout))


def test_price_a_metre_is_that_of_a_foot_by_its_length(site: JobSite, as_office: Client) -> None:
    estimate = price_site(site=site, actor=None, now=NOW)
    FirmProfile.objects.update(units="us")
    in_feet = page(as_office, "estimate", estimate.pk)
    FirmProfile.objects.update(units="metric")
    in_metres = page(as_office, "estimate", estimate.pk)
    figure = r"Price a (?:foot|metre)</span><br><span class=\"big-figure\">\$([\d.,]+)"
    foot, metre = (
        float(re.findall(figure, html)[0].replace(",", "")) for html in (in_feet, in_metres)
    )
    assert metre * 0.3048 == pytest.approx(foot, abs=0.006)


def test_public_proposal_is_in_metres(client: Client) -> None:
    make_firm(units=FirmProfile.Units.METRIC)
    sent = make_sent_proposal()
    html = client.get(reverse("proposal_public", args=[sent.token])).content.decode()
    words = words_of(html).replace("Take down 40 ft of wire fence", "")  # typed by the office
    # 384 in, 72 in, 48 in and 36 in, by 25.4.
    for measure in ("build 9.75 m of", "1.83 m tall", "1219 mm clear", "914 mm deep"):
        assert measure in words
    assert not [words[m.start() - 60 : m.end() + 30] for m in FEET.finditer(words)]


def test_proposal_names_its_price_in_metres(site: JobSite) -> None:
    estimate = price_site(site=site, actor=None, now=NOW)
    draft = create_draft(estimate=estimate, actor=None, now=timezone.now())
    content = content_of(draft, today=TODAY)
    (row,) = [row for row in content.price_rows if row.key == "line:A"]
    # The gates' share is none of the fence's: this line has no gate.
    assert f"15.24 m of {system_name(estimate)}" in row.description
    assert content.facts[0].amount == "15.24 m"
    assert "15.240 m" not in content.plan_svg
    assert "15.24 m" in content.plan_svg
    assert "15.24 m of" in draft.scope_text
    assert not FEET.search(draft.scope_text.replace(system_name(estimate), ""))


def system_name(estimate: Estimate) -> str:
    (name,) = {
        estimate.catalog["fence_systems"][line["system"]]["name"]
        for line in estimate.result["lines"]
    }
    return str(name)


def test_measure_sheet_asks_for_metres(
    site: JobSite, as_office: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    printed: list[str] = []

    def keep(html: str) -> bytes:
        printed.append(html)
        return b"%PDF"

    monkeypatch.setattr(sites, "render_pdf", keep)
    body_of(as_office.get(reverse("site_measure_sheet", args=[site.pk])))
    words = unescape(re.sub(r"<style>.*?</style>|<[^>]*>", " ", printed[0], flags=re.DOTALL))
    assert re.search(r"One square =\s+m\b", words)
    assert re.search(r"Old fence to remove\s+m\b", words)
    assert "frost 762 mm" in words
    assert not [words[m.start() - 60 : m.end() + 30] for m in FEET.finditer(words)]
    assert " ft" not in words


def test_rough_length_is_typed_in_metres_and_kept_in_feet(site: JobSite, as_office: Client) -> None:
    enquiry = Enquiry.objects.create(
        customer=make_customer(name="Reed Sallow", email="reed@example.com"),
        wanted="A fence",
        rough_length_ft=100,
        created_at=NOW,
    )
    assert "30.48 m" in page(as_office, "enquiry", enquiry.pk)
    html = page(as_office, "enquiry_edit", enquiry.pk)
    assert "Such as 40 (metres)" in html
    assert 'value="30.48 m"' in html
    form = as_office.get(reverse("enquiry_edit", args=[enquiry.pk])).context["form"]
    data = {field.html_name: field.value() or "" for field in form}
    saved = as_office.post(
        reverse("enquiry_edit", args=[enquiry.pk]), data | {"rough_length_ft": "60.96"}
    )
    assert saved.status_code == 302
    enquiry.refresh_from_db()
    assert enquiry.rough_length_ft == pytest.approx(200)


def test_next_page_follows_a_change_of_units_at_once(site: JobSite, as_office: Client) -> None:
    FirmProfile.objects.update(units="us")
    assert "30 in" in words_of(page(as_office, "site", site.pk))
    FirmProfile.objects.update(units="metric")
    assert "762 mm" in words_of(page(as_office, "site", site.pk))


def test_what_is_bought_by_the_foot_is_written_in_metres(site: JobSite) -> None:
    with units_of_one_request():
        # 62 ft are 18.8976 m.
        assert bought(62.0, "ft") == "18.90 m"
        assert bought(4.0, "bag") == "4 \u00d7 bag"
    assert bought(62.0, "ft") == "62 ft"


def test_where_a_number_comes_from_is_in_metres(site: JobSite, as_office: Client) -> None:
    gate = {"id": "G1", "station_in": 200.0, "clear_opening_in": 48.0}
    document = straight_line(600.0)
    document["lines"][0]["gates"] = [gate]
    save_measurement(site=site, document=document, based_on=1, actor=None, now=NOW)
    estimate = price_site(site=site, actor=None, now=NOW)
    words = words_of(page(as_office, "estimate_where_from", estimate.pk))
    assert "Gate G1: 1219 mm clear opening" in words  # 48 x 25.4 = 1219.2
    words = re.sub(r"\w+_\w+", "", words)  # the price book's own short names
    names = PriceItem.objects.values_list("name", flat=True)
    for name in (*names, "Vinyl privacy 6 ft", "Wood privacy 6 ft"):
        words = words.replace(name, "")
    assert not [words[m.start() - 60 : m.end() + 30] for m in FEET.finditer(words)]
