"""The ways for a job's concrete on the estimate's page, and the firm's choice in the settings."""

import pytest
from django.test import Client
from django.urls import reverse

from estimating.engine.concrete import ConcreteWay
from estimating.mapping import result_of
from estimating.models import Estimate
from estimating.services.estimates import price_site
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import FirmProfile
from scheduling.models import Crew
from tests.day_cast import address, make_job, page_of, setting_day, words
from tests.factories import NOW, TODAY, make_firm, make_site
from tests.sheet_cast import fence_line

pytestmark = [pytest.mark.django_db, pytest.mark.once]

TIMES = "\N{MULTIPLICATION SIGN}"
WOOD = "wood_privacy_side_6ft"


def priced(**firm: object) -> Estimate:
    """Price 20 ft of wood fence: 4 holes, 8.403944 ft3, 9.2443 with waste."""
    make_firm(**firm)
    load_starter_rows(today=TODAY)
    site = make_site()
    document = {
        "format": "firm-footing-site",
        "version": 1,
        "name": "Larch Court",
        "lines": [fence_line(240.0, system=WOOD)],
    }
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    return price_site(site=site, actor=None, now=NOW)


def chosen(estimate: Estimate) -> ConcreteWay:
    result = result_of(estimate)
    assert result is not None
    way = result.concrete.chosen
    assert way is not None
    return way


def test_the_page_shows_each_way_and_marks_the_cheapest(as_office: Client) -> None:
    estimate = priced()
    seen = words(page_of(as_office, reverse("estimate", args=[estimate.pk])))

    # 16 bags x 6.80 = 108.80; 16 x 0.07 h x 62.00 = 69.44.
    assert "Concrete mix, 80 lb bag $108.80 1.1 $69.44 $178.24 cheapest chosen" in seen
    # 20.5 -> 21 x 5.60 = 117.60; 21 x 0.75 x 0.07 x 62.00 = 68.355.
    assert "Concrete mix, 60 lb bag $117.60 1.1 $68.36 $185.96" in seen
    # 1 yd3 and the charge: 175 + 225; 0.34238 yd3 x 1.8 h x 62.00 = 38.21.
    assert "Ready-mixed, by truck $400.00 0.6 $38.21 $438.21" in seen
    assert (
        f"Ready-mixed concrete: 4 {TIMES} quarter yard; Charge for a short load: 1 {TIMES} load"
        in seen
    )


@pytest.mark.parametrize(
    ("choice", "kind", "item", "units"),
    [
        ("bags_80lb", "bags", "concrete_80lb", 16),
        ("bags_60lb", "bags", "concrete_60lb", 21),
        ("bags_50lb", "bags", "concrete_50lb", 25),  # 24.65
        ("ready_mix", "ready_mix", "ready_mix", 4),
        ("cheapest", "bags", "concrete_80lb", 16),
    ],
)
def test_the_firm_s_choice_is_priced(choice: str, kind: str, item: str, units: int) -> None:
    way = chosen(priced(concrete_way=choice))

    assert (way.kind, way.buys[0].item, way.buys[0].units) == (kind, item, units)


def test_where_no_bags_come_the_page_says_so(as_office: Client) -> None:
    estimate = priced(concrete_way=FirmProfile.ConcreteWay.READY_MIX)
    seen = words(page_of(as_office, reverse("estimate", args=[estimate.pk])))

    assert "Concrete, bags 16 if it came in bags" in seen
    assert "Ready-mixed, by truck $400.00 0.6 $38.21 $438.21 chosen" in seen


def test_the_crew_reads_what_brings_the_concrete(as_lead: Client, red_crew: Crew) -> None:
    job = make_job(fence_line(240.0, system=WOOD))
    setting_day(red_crew, job)
    assert "bags of Concrete mix, 80 lb bag" in words(page_of(as_lead, address(red_crew, job)))

    estimate = Estimate.objects.get(proposals=job.proposal_id)
    for way in estimate.result["concrete"]["ways"]:
        way["is_chosen"] = way["kind"] == "ready_mix"
    estimate.save()
    seen = words(page_of(as_lead, address(red_crew, job)))
    assert f"Concrete: Ready-mixed concrete: 4 {TIMES} quarter yard; Charge" in seen
    assert "$" not in seen


def test_the_owner_chooses_the_way(as_owner: Client) -> None:
    make_firm()
    page = as_owner.get("/settings/").content.decode()

    assert 'name="concrete_way"' in page
    assert "Ready-mixed, by truck" in page
