"""A metric firm sees wind, weights and stresses in its units, and no look changes what is kept.

Factors: NIST SP 811 (2008), appendix B.8; tests/published/test_loads_by_units.py holds them
against it.
"""

import copy
import re
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from estimating.models import FenceSystem
from estimating.services.estimates import price_site
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import FirmProfile, JobSite
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_site
from tests.measure_pages import typed_in
from tests.web.system_pages import address_of, shown, text_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]

US_LOADS = re.compile(r"\d (?:lb|lb-ft|psf|psi|mph|kips?|ft3|yd3|BTU)\b")


@pytest.fixture
def site() -> JobSite:
    make_firm(units=FirmProfile.Units.METRIC)
    load_starter_rows(today=TODAY)
    return make_site(wind_speed_mph=115.0, exposure="C", access_width_in=36.0)


def test_wind_on_the_site_is_in_metres_a_second_and_stays_as_it_was(
    site: JobSite, as_office: Client
) -> None:
    # 115 x 0.44704 = 51.41 m/s.
    assert "51.4 m/s, exposure C" in text_of(as_office.get(f"/sites/{site.pk}/").content)
    address = reverse("site_edit", args=[site.pk])
    page = as_office.get(address).content.decode()
    assert "Design wind speed (m/s)" in page
    names = ("customer", "street", "city", "state", "postcode", "soil", "dig_method", "spoil")
    sent = {name: str(value) for name in names if (value := getattr(site, name))}
    sent |= {"customer": str(site.customer_id), "exposure": "C"}
    for name in ("wind_speed_mph", "access_width_in", "seen_changed_at"):
        field = re.search(rf'name="{name}" value="([^"]*)"', page)
        if field:
            sent[name] = unescape(field[1])
    assert sent["wind_speed_mph"] == "51.4"
    assert as_office.post(address, sent).status_code == 302
    site.refresh_from_db()
    assert (site.wind_speed_mph, site.access_width_in) == (115.0, 36.0)
    assert as_office.post(address, sent | {"wind_speed_mph": "50"}).status_code == 302
    site.refresh_from_db()
    assert site.wind_speed_mph == pytest.approx(50 / 0.44704)


def test_a_measured_site_sent_back_as_shown_is_no_new_version(
    site: JobSite, as_office: Client
) -> None:
    document = straight_line(603.0625)  # 50 ft 3 1/16 in: no whole millimetre
    document["conditions"] = {
        "wind_speed_mph": 115.0,
        "exposure": "C",
        "frost_depth_in": 30.0,
        "soil_class": "normal",
        "dig_method": "hand",
        "spoil": "spread",
    }
    document["lines"][0]["ground"] = [
        {"station_in": 0.0, "elevation_in": 0.0},
        {"station_in": 603.0625, "elevation_in": -10.0625},
    ]
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    address = reverse("site_measure", args=[site.pk])
    sent = typed_in(as_office.get(address).content.decode())
    assert sent["conditions-wind_speed_mph"] == "51.4"
    assert as_office.post(address, sent).status_code == 302
    newest = site.measurements.latest("version").document
    assert newest["conditions"]["wind_speed_mph"] == 115.0
    assert newest["conditions"]["frost_depth_in"] == 30.0
    assert newest["lines"][0]["legs"][0]["length_in"] == 603.0625
    assert [each["elevation_in"] for each in newest["lines"][0]["ground"]] == [0.0, -10.0625]
    # By now the document names all that the page shows: nothing is new in it.
    sent = typed_in(as_office.get(address).content.decode())
    as_office.post(address, sent)
    assert site.measurements.latest("version").version == 2
    as_office.post(address, sent | {"conditions-wind_speed_mph": "180 km/h"})
    newest = site.measurements.latest("version").document
    assert newest["conditions"]["wind_speed_mph"] == pytest.approx(180 / 1.609344)


def test_posts_against_wind_are_judged_in_newtons_and_pascals(
    site: JobSite, as_office: Client
) -> None:
    document = straight_line(600.0)
    document["lines"][0]["system"] = "chain_link_6ft"
    document["lines"][0]["gates"] = [
        {"id": "G1", "station_in": 200.0, "clear_opening_in": 48.0, "leaves": 1}
    ]
    document["conditions"] = {"spoil": "haul"}
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    estimate = price_site(site=site, actor=None, now=NOW)
    page = text_of(as_office.get(reverse("estimate", args=[estimate.pk])).content)
    # 24.46 psf x 0.0478803 = 1.171 kPa; 100 psf a foot x 0.0478803 / 0.3048 = 15.7 kPa a metre.
    assert "51.4 m/s, exposure C" in page
    assert "velocity pressure 1.17 kPa" in page
    assert "15.7 kPa for each metre of depth" in page
    assert re.search(r"\d\.\d\d kN .*\d\.\d\d kN\u00b7m .*steel pipe, \d+\.\d MPa", page)
    assert re.search(r"The soil weighs \d+ kg dry to \d+ kg wet", page)
    names = "|".join(re.escape(each.name) for each in FenceSystem.objects.all())
    words = re.sub(rf"{names}|\d+ lb bag", "", page)  # a bag's own name
    assert not [words[m.start() - 60 : m.end() + 30] for m in US_LOADS.finditer(words)]

    soil = text_of(as_office.get(reverse("soil")).content)
    assert "15.7 kPa a metre of depth: clay" in soil
    assert not US_LOADS.search(soil)


def test_a_system_s_weights_and_stresses_are_typed_in_metric_units(
    site: JobSite, as_office: Client
) -> None:
    system = FenceSystem.objects.get(key="chain_link_6ft_commercial")
    before = copy.deepcopy(system.definition)
    address = address_of(system)
    page = text_of(as_office.get(address).content)
    for label in ("A gate's leaf weighs, kg/m\u00b2", "its yield, MPa", "Steel: wall, mm"):
        assert label in page
    assert "deeper for each metre above" in page
    assert "each metre of fence" in page
    sent = shown(as_office, address)
    rings = next(n for n, row in enumerate(before["materials"]) if row["item"] == "cl_hog_ring")
    mesh = next(
        n for n, row in enumerate(before["materials"]) if row["item"] == "cl_fabric_6ft_9ga"
    )
    # 2/3 a foot / 0.3048 = 2.1872 a metre; mesh, itself in feet, is as long as the fence.
    assert before["materials"][rings]["quantity"] == 2 / 3
    assert sent[f"materials-{rings}-quantity"] == "2.1872"
    assert sent[f"materials-{mesh}-quantity"] == "1"
    changes = {
        "gate-usual_post_up_to_leaf_lb": "45",
        "wind-leaf_lb_ft2": "9.8",
        "wind-posts-end-yield_psi": "250",
        "wind-posts-end-wall_in": "4",
        "hole-extra_depth_per_ft_in": "250 mm",
        f"materials-{rings}-quantity": "2",
    }
    assert as_office.post(address, sent | changes).status_code == 302
    system.refresh_from_db()
    kept = system.definition
    assert kept["gate"].pop("usual_post_up_to_leaf_lb") == pytest.approx(45 / 0.45359237)
    assert kept["wind"].pop("leaf_lb_ft2") == pytest.approx(9.8 / 4.882428, rel=1e-6)
    end = kept["wind"]["posts"]["end"]
    assert end.pop("yield_psi") == pytest.approx(250e6 / 6.894757e3, rel=1e-6)
    assert end.pop("wall_in") == pytest.approx(4 / 25.4)
    # 250 mm are 9.843 in for a metre: 3 in for a foot.
    assert kept["hole"].pop("extra_depth_per_ft_in") == pytest.approx(250 / 25.4 * 0.3048)
    # 2 a metre x 0.3048 = 0.6096 a foot.
    assert kept["materials"][rings].pop("quantity") == pytest.approx(0.6096)
    del before["materials"][rings]["quantity"]
    before["gate"].pop("usual_post_up_to_leaf_lb", None)
    before["wind"].pop("leaf_lb_ft2", None)
    for name in ("yield_psi", "wall_in"):
        before["wind"]["posts"]["end"].pop(name, None)
    before["hole"].pop("extra_depth_per_ft_in", None)
    assert kept == before

    sent = shown(as_office, address)
    assert sent[f"materials-{rings}-quantity"] == "2"
    assert as_office.post(address, sent | {f"materials-{rings}-driver": "post"}).status_code == 302
    system.refresh_from_db()
    assert system.definition["materials"][mesh] == before["materials"][mesh]
    # 2 stood in the form: 2 at each post then, not the 0.6096 of a foot.
    assert system.definition["materials"][rings]["quantity"] == 2


def test_frost_depth_names_the_soil_in_metric_units(site: JobSite, as_office: Client) -> None:
    winter = {"index": "500", "freezing_days": "100", "mean_annual": "8"}
    winter |= {"soil": "silt_clay", "surface": "turf"}
    address = reverse("frost_depth")
    page = as_office.get(address)
    for name in ("soil", "surface"):
        found = re.search(
            rf'<select name="{name}".*?<option value="([^"]+)"', page.content.decode()
        )
        assert found
        winter[name] = found[1]
    words = text_of(as_office.get(address, winter).content)
    assert re.search(r"\d+ kg/m\u00b3 dry with", words)
    assert re.search(r"conductivity \d\.\d\d W/\(m\u00b7K\)", words)
    assert re.search(r"Latent heat \d+\.\d MJ/m\u00b3", words)
    assert not US_LOADS.search(words)


def test_the_speed_of_the_drive_stays_when_settings_are_saved(
    site: JobSite, as_owner: Client
) -> None:
    page = as_owner.get("/settings/").content.decode()
    assert 'name="road_speed_mph" value="48.3 km/h"' in page  # 30 x 1.609344 = 48.28
    assert "13 km for 10 in a straight line" in page
    sent = {}
    for name, value in re.findall(r'<input[^>]* name="([^"]+)" value="([^"]*)"', page):
        sent[name] = unescape(value)
    for name, options in re.findall(r'<select name="([^"]+)".*?>(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', options)
        sent[name] = unescape(chosen[1]) if chosen else ""
    del sent["csrfmiddlewaretoken"]
    answer = as_owner.post("/settings/", sent | {"phone": "555-0100"})
    assert answer.status_code == 302
    firm = FirmProfile.objects.get()
    assert (firm.road_speed_mph, firm.phone) == (30.0, "555-0100")
