"""A metric firm lists, types and sets by the metre what it buys by it, kept in centimetres.

What was kept by the foot, before a firm counted by the metre, stays so and is shown by the metre.
"""

import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from estimating.models import EstimateOverride, PriceItem
from estimating.services.estimates import price_site
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import FirmProfile
from firm.selectors.profile import units_of_one_request
from firm.templatetags.measures import count_of, sold_by
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_site
from tests.web.system_pages import Typed

pytestmark = pytest.mark.django_db
LEAF = "vinyl_gate_leaf_ft"
BY_THE_FOOT = {"purchase_unit": "ft", "pack": 1.0, "unit_cost": Decimal(58)}
KEPT = ("unit", "purchase_unit", "unit_cost", "pack", "stock_length_in", "waste_pct")


@pytest.fixture(autouse=True)
def metric_firm() -> None:
    make_firm(units=FirmProfile.Units.METRIC)
    load_starter_rows(today=TODAY)


def form_of(client: Client, key: str) -> tuple[str, dict[str, Any]]:
    address = reverse("price_item_edit", args=[PriceItem.objects.get(key=key).pk])
    return address, typed_in(client.get(address).content.decode())


def kept(key: str) -> dict[str, Any]:
    row: dict[str, Any] = PriceItem.objects.filter(key=key).values(*KEPT).get()
    return row


def page_of(answer: Any) -> str:
    return str(answer.content.decode())


def typed_in(html: str) -> dict[str, str]:
    parser = Typed()
    parser.feed(html.partition('<form class="card"')[2])
    parser.sent.pop("csrfmiddlewaretoken", None)
    return parser.sent


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", html))


def test_price_book_lists_by_the_metre(as_office: Client) -> None:
    words = text_of(page_of(as_office.get("/price-book/")))
    # 58.00 / 0.3048 = 190.2887; 50 x 0.3048 = 15.24
    assert "Vinyl gate leaf, by the foot of width Material $190.2887 m " in words
    assert "$128.00 roll of 15.24 m" in words
    assert not re.search(r"\$[\d.]+ (?:ft|[a-z]+ of \d+ ft)", words)
    PriceItem.objects.filter(key=LEAF).update(**BY_THE_FOOT)
    words = text_of(page_of(as_office.get("/price-book/")))
    assert "Vinyl gate leaf, by the foot of width Material $190.2887 m " in words
    FirmProfile.objects.update(units="us")
    words = text_of(page_of(as_office.get("/price-book/")))
    assert "$58.00 ft " in words
    assert "$128.00 roll of 50 ft" in words


@pytest.mark.parametrize("is_by_the_foot", [False, True])
@pytest.mark.parametrize("key", [LEAF, "cl_fabric_4ft", "cl_tension_wire", "ready_mix"])
def test_a_form_sent_back_as_shown_changes_nothing(
    as_office: Client, key: str, is_by_the_foot: bool
) -> None:
    if is_by_the_foot:
        PriceItem.objects.filter(key=LEAF).update(**BY_THE_FOOT)
    PriceItem.objects.filter(key=key).update(unit_cost=Decimal("57.9913"))
    before = kept(key)
    address, sent = form_of(as_office, key)
    assert as_office.post(address, sent | {"name": "By another name"}).status_code == 302
    assert PriceItem.objects.get(key=key).name == "By another name"
    assert kept(key) == before


def test_what_is_typed_for_a_metre_is_kept_for_a_centimetre_and_shown_again(
    as_office: Client,
) -> None:
    # The starter sells a foot for 58.00: 58 / 30.48 a centimetre, which is 1 / 30.48 of a foot.
    assert kept(LEAF)["unit_cost"] == Decimal("1.90288714")
    assert kept(LEAF)["pack"] == pytest.approx(0.0328083990)
    address, sent = form_of(as_office, LEAF)
    assert (sent["unit"], sent["purchase_unit"], sent["pack"]) == ("m", "m", "1")
    assert as_office.post(address, sent | {"unit_cost": "190.26"}).status_code == 302
    assert kept(LEAF)["unit_cost"] == Decimal("1.9026")
    assert (kept(LEAF)["unit"], kept(LEAF)["purchase_unit"]) == ("ft", "cm")
    assert form_of(as_office, LEAF)[1]["unit_cost"] == "190.26"
    # Spelled otherwise it is the same unit still.
    assert as_office.post(address, sent | {"purchase_unit": "metres"}).status_code == 302
    assert kept(LEAF)["purchase_unit"] == "cm"


def test_what_was_kept_by_the_foot_stays_so(as_office: Client) -> None:
    PriceItem.objects.filter(key=LEAF).update(**BY_THE_FOOT)
    address, sent = form_of(as_office, LEAF)
    assert as_office.post(address, sent | {"purchase_unit": "metre"}).status_code == 302
    assert (kept(LEAF)["purchase_unit"], kept(LEAF)["unit_cost"]) == ("ft", Decimal(58))
    address, sent = form_of(as_office, LEAF)
    assert (sent["unit"], sent["purchase_unit"], sent["pack"]) == ("m", "m", "1")
    assert as_office.post(address, sent | {"unit_cost": "190.26"}).status_code == 302
    # 190.26 x 0.3048 = 57.991248
    assert kept(LEAF)["unit_cost"] == Decimal("57.991248")
    assert kept(LEAF)["unit"] == kept(LEAF)["purchase_unit"] == "ft"
    assert form_of(as_office, LEAF)[1]["unit_cost"] == "190.26"

    address, sent = form_of(as_office, "cl_fabric_4ft")
    assert (sent["unit"], sent["pack"], sent["unit_cost"]) == ("m", "15.24", "128.00")
    changes = {"purchase_unit": "roll of 25 m", "pack": "25", "unit_cost": "210"}
    assert as_office.post(address, sent | changes).status_code == 302
    # 25 / 0.3048 = 82.0210; a roll costs what it costs.
    assert kept("cl_fabric_4ft")["pack"] == pytest.approx(82.02099738)
    assert kept("cl_fabric_4ft")["unit_cost"] == Decimal(210)
    assert form_of(as_office, "cl_fabric_4ft")[1]["pack"] == "25"


def test_a_refused_form_keeps_what_was_typed_by_the_metre(as_office: Client) -> None:
    address, sent = form_of(as_office, LEAF)
    answer = as_office.post(address, sent | {"unit_cost": "190.26", "pack": "999999999"})
    again = typed_in(answer.content.decode())
    assert (again["unit_cost"], again["unit"], again["pack"]) == ("190.26", "m", "999999999")
    assert kept(LEAF)["unit_cost"] == Decimal("1.90288714")


def test_a_new_item_is_typed_by_the_metre(as_office: Client) -> None:
    sent = typed_in(as_office.get("/price-book/new/").content.decode()) | {
        "name": "Cable",
        "key": "cable",
        "kind": "material",
        "unit": "m",
        "purchase_unit": "m",
        "unit_cost": "3.05",
        "waste_pct": "0",
        "checked_on": timezone.localdate().isoformat(),
    }
    assert as_office.post("/price-book/new/", sent).status_code == 302
    # Needed by the foot, bought by the centimetre: 3.05 / 100, and 0.01 / 0.3048 ft.
    assert kept("cable")["unit_cost"] == Decimal("0.0305")
    assert (kept("cable")["unit"], kept("cable")["purchase_unit"]) == ("ft", "cm")
    assert kept("cable")["pack"] == pytest.approx(0.0328083990)
    assert form_of(as_office, "cable")[1]["unit_cost"] == "3.05"


def test_a_quantity_and_a_cost_are_set_by_hand_by_the_metre(as_office: Client) -> None:
    site, document = make_site(), straight_line(600.0)
    document["lines"][0]["gates"] = [{"id": "G1", "station_in": 240.0, "clear_opening_in": 48.0}]
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    estimate = price_site(site=site, actor=None, now=NOW)
    page = page_of(as_office.get(reverse("estimate", args=[estimate.pk])))
    # A leaf under 4 ft is bought as 4 ft: 1.2192 m, so 122 cm; 58.00 / 0.3048 = 190.2887.
    assert "Quantity: Vinyl gate leaf, by the foot of width (now 1.22 m)" in page
    assert "Unit cost: Vinyl gate leaf, by the foot of width (now 190.2887)" in page
    address = reverse("estimate_override", args=[estimate.pk])
    for target, value in ((f"quantity:{LEAF}", "1.5"), (f"unit_cost:{LEAF}", "190.26")):
        sent = {"override-target": target, "override-value": value, "override-reason": "Wider"}
        assert as_office.post(address, sent).status_code == 302
    figures = dict(EstimateOverride.objects.values_list("target", "value"))
    assert figures == {f"quantity:{LEAF}": 150, f"unit_cost:{LEAF}": Decimal("1.9026")}
    words = text_of(page_of(as_office.get(reverse("estimate", args=[estimate.pk]))))
    assert "1.22 m 1.50 m Wider" in words
    assert "Figure: 1.50 m" in words
    assert "Figure: $190.26" in words
    # 1.5 x 190.26 = 285.39
    assert "1.50 m $190.26 a metre" in words
    assert "$285.39" in words


def test_where_a_length_comes_from_is_told_by_the_metre(as_office: Client) -> None:
    site, document = make_site(), straight_line(600.0)
    document["lines"][0]["gates"] = [{"id": "G1", "station_in": 240.0, "clear_opening_in": 48.0}]
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    estimate = price_site(site=site, actor=None, now=NOW)
    address = reverse("estimate_where_from", args=[estimate.pk])
    words = text_of(page_of(as_office.get(address, {"of": f"cost:material:{LEAF}"})))
    # 4 ft are 121.92 cm, so 122 are bought: 122 x 1.90288714 = 232.15.
    assert "Vinyl gate leaf, by the foot of width $232.15" in words
    assert "Bought 1.22 m" in words
    assert "Cost of one metre $190.2887" in words
    assert not re.search(r"\d cm\b", words)


def test_a_bag_s_concrete_is_typed_in_litres(as_office: Client) -> None:
    # 0.6 x 28.3168 = 16.99
    address, sent = form_of(as_office, "concrete_80lb")
    assert sent["yield_ft3"] == "16.99"
    assert as_office.post(address, sent).status_code == 302
    assert PriceItem.objects.get(key="concrete_80lb").yield_ft3 == 0.6
    assert as_office.post(address, sent | {"yield_ft3": "17"}).status_code == 302
    assert PriceItem.objects.get(key="concrete_80lb").yield_ft3 == pytest.approx(17 / 28.316847)


def test_the_buying_list_counts_metres_of_what_is_bought_by_the_foot() -> None:
    with units_of_one_request():
        # 4 x 0.3048 = 1.2192
        assert (sold_by("ft"), count_of(4, "ft"), count_of(4, "bag")) == ("m", "1.22", "4")
    FirmProfile.objects.update(units="us")
    with units_of_one_request():
        assert (sold_by("ft"), count_of(4, "ft")) == ("ft", "4")
