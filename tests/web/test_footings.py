"""Posts against wind: on the office's page of an estimate, and nowhere a customer looks."""

import datetime as dt
import json
import re
from collections.abc import Callable
from html import unescape
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader
from pytest_django import DjangoAssertNumQueries

from estimating.models import Estimate, FenceSystem, Proposal
from estimating.services import estimates as service
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import JobSite, Role
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_sent_proposal, make_site

pytestmark = [pytest.mark.django_db, pytest.mark.once]

ADVICE = (
    "against wind",
    "velocity pressure",
    "exposure",
    "mph",
    "psf",
    "embedment",
    "in bending",
    "short by",
    "short of depth",
    "what would pass",
    "presumptive",
)


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


def priced(site: JobSite, **conditions: Any) -> Estimate:
    document = straight_line(600.0) | {"conditions": conditions}
    document["lines"][0]["system"] = "chain_link_6ft"
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    return service.price_site(site=site, actor=None, now=NOW)


def page_of(client: Client, estimate: Estimate, name: str = "estimate") -> str:
    answer = client.get(reverse(name, args=[estimate.pk]))
    assert answer.status_code == 200
    return " ".join(unescape(answer.content.decode()).split())


WINDY = {"wind_speed_mph": 115.0, "exposure": "C"}


@pytest.mark.parametrize("role", [Role.OFFICE, Role.OWNER])
def test_office_and_owner_see_the_posts_judged_with_the_caution(
    site: JobSite, as_role: Callable[[Role | None], Client], role: Role
) -> None:
    page = page_of(as_role(role), priced(site, **WINDY))

    assert "This is no engineered design." in page
    assert "reject much that is customary" in page
    assert "115 mph, exposure C: velocity pressure 24.5 psf" in page
    # 50 ft in 5 bays of 10 ft: 129.5 lb at 3 ft in 9.5 in holes of clay take 40.3 in, and 30 are
    # there; the two ends hold the wind, but nobody judges the fabric's pull.
    assert "<strong>4</strong> are short of depth, the worst by 11 in" in page
    assert "<strong>2</strong> are outside what can be judged here" in page
    assert "the pull of the stretched fabric is not judged" in page


def test_one_button_shows_what_would_pass_and_what_it_costs(
    site: JobSite, as_office: Client
) -> None:
    estimate = priced(site, **WINDY)
    assert reverse("estimate_what_would_pass", args=[estimate.pk]) in page_of(as_office, estimate)
    page = page_of(as_office, estimate, "estimate_what_would_pass")

    assert "This is no engineered design." in page
    assert "Deeper holes: 41 in" in page
    deeper = service.price_site(
        site=site, actor=None, now=NOW, again=True
    )  # the same site, its holes by a rule of 41 in
    deeper.document = deeper.document | {"conditions": {**WINDY, "local_hole_depth_in": 41.0}}
    service.work_out_again(deeper, now=NOW)
    change = deeper.price_before_tax - estimate.price_before_tax
    assert change > 0
    assert f"+${change:,.2f}" in page


def test_looking_changes_nothing(site: JobSite, as_office: Client) -> None:
    estimate = priced(site, **WINDY)
    before = Estimate.objects.filter(pk=estimate.pk).values().get()

    page_of(as_office, estimate, "estimate_what_would_pass")

    assert Estimate.objects.filter(pk=estimate.pk).values().get() == before


def test_crew_leads_do_not_get_in(site: JobSite, as_role: Callable[[Role | None], Client]) -> None:
    address = reverse("estimate_what_would_pass", args=[priced(site, **WINDY).pk])
    assert as_role(Role.CREW_LEAD).get(address).status_code == 403
    assert as_role(None).get(address).status_code == 302


def test_without_a_wind_speed_the_page_says_where_to_enter_it(
    site: JobSite, as_office: Client
) -> None:
    estimate = priced(site)
    page = page_of(as_office, estimate)

    assert "Not judged: the site has no design wind speed." in page
    assert reverse("site_edit", args=[site.pk]) in page
    assert "No post that could be judged is short of depth" in page_of(
        as_office, estimate, "estimate_what_would_pass"
    )


def test_wind_of_the_site_s_page_stands_where_the_document_has_none(
    site: JobSite, as_office: Client
) -> None:
    JobSite.objects.filter(pk=site.pk).update(wind_speed_mph=120.0, exposure="D")
    page = page_of(as_office, priced(site))

    assert "120 mph, exposure D (from the site's page as it stands today)" in page


def test_a_new_document_begins_with_the_site_s_wind(site: JobSite, as_office: Client) -> None:
    JobSite.objects.filter(pk=site.pk).update(wind_speed_mph=120.0, exposure="D")
    page = as_office.get(reverse("site_measure", args=[site.pk])).content.decode()

    assert 'name="conditions-wind_speed_mph" value="120"' in page
    assert '<option value="D" selected>' in page


def test_an_estimate_frozen_before_wind_was_judged_opens_with_the_starter_s_figures(
    site: JobSite, as_office: Client
) -> None:
    estimate = priced(site, **WINDY)
    catalog = json.loads(json.dumps(estimate.catalog))
    for system in catalog["fence_systems"].values():
        system.pop("wind", None)
    catalog["rules"].pop("soil_bearing", None)
    Estimate.objects.filter(pk=estimate.pk).update(catalog=catalog, state=Estimate.State.FROZEN)

    page = page_of(as_office, estimate)
    assert "<strong>4</strong> are short of depth, the worst by 11 in" in page


def test_a_system_of_the_firm_s_own_without_wind_figures_is_not_judged(
    site: JobSite, as_office: Client
) -> None:
    row = FenceSystem.objects.get(key="chain_link_6ft")
    definition = {name: value for name, value in row.definition.items() if name != "wind"}
    FenceSystem.objects.create(
        key="our_mesh", name="Our mesh", definition=definition, changed_at=NOW
    )
    document = straight_line(600.0) | {"conditions": WINDY}
    document["lines"][0]["system"] = "our_mesh"
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    estimate = service.price_site(site=site, actor=None, now=NOW)

    assert "Our mesh has no figures for wind" in page_of(as_office, estimate)


def test_nothing_of_it_reaches_a_proposal(site: JobSite, as_office: Client) -> None:
    estimate = priced(site, **WINDY)
    assert "short by" in page_of(as_office, estimate)
    proposal = make_sent_proposal(estimate)
    Proposal.objects.update(valid_until=timezone.localdate() + dt.timedelta(days=20))
    with proposal.pdf.open() as file:
        printed = PdfReader(BytesIO(file.read()))
    office_page = as_office.get(reverse("proposal", args=[proposal.pk]))
    public = Client().get(reverse("proposal_public", args=[proposal.token]))
    assert (office_page.status_code, public.status_code) == (200, 200)

    texts = {
        "stored": json.dumps(proposal.content),
        "kept by the engine": json.dumps(estimate.result),
        "pdf": " ".join(page.extract_text() for page in printed.pages),
        "public page": public.content.decode(),
        "office's page": office_page.content.decode(),
    }
    found = [
        (place, words)
        for place, text in texts.items()
        for words in ADVICE
        # As words of their own: a link's random letters may spell a unit.
        if re.search(rf"(?<![\w-]){words}(?![\w-])", " ".join(unescape(text).lower().split()))
    ]
    assert found == []
    assert "chain link" in texts["pdf"].lower()


def test_a_site_of_very_many_posts_is_refused_with_the_reason(
    site: JobSite, as_office: Client
) -> None:
    estimate = priced(site, **WINDY)
    result = estimate.result | {"holes": estimate.result["holes"] * 100}
    Estimate.objects.filter(pk=estimate.pk).update(result=result)

    page = page_of(as_office, estimate, "estimate_what_would_pass")
    assert "This site has 600 posts, and 500 can be compared at once." in page


def test_the_page_of_variants_asks_the_database_little(
    site: JobSite, as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    estimate = priced(site, **WINDY)
    address = reverse("estimate_what_would_pass", args=[estimate.pk])
    # Session, person; estimate; typed lines; the firm's units.
    with django_assert_num_queries(5):
        as_office.get(address)
