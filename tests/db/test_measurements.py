"""Versions of a site's document."""

from decimal import Decimal
from typing import Any

import pytest

from estimating.models import SiteMeasurement
from estimating.selectors.measurements import conditions_of, latest_measurement
from estimating.services.measurements import save_measurement
from firm.errors import Refusal
from firm.models import AuditEntry, Jurisdiction, Role
from tests.cast import make_person
from tests.factories import NOW, make_site

pytestmark = pytest.mark.django_db


def straight_line(length_in: float = 600.0) -> dict[str, Any]:
    return {
        "format": "firm-footing-site",
        "version": 1,
        "name": "Larch Court",
        "lines": [
            {
                "id": "A",
                "name": "Line A",
                "system": "vinyl_privacy_6ft",
                "legs": [{"length_in": length_in, "turn_deg": 0.0}],
            }
        ],
    }


def test_a_change_adds_a_version_and_leaves_the_old_one() -> None:
    site, actor = make_site(), make_person(Role.OFFICE)

    first = save_measurement(
        site=site, document=straight_line(600.0), based_on=0, actor=actor, now=NOW
    )
    second = save_measurement(
        site=site, document=straight_line(612.0), based_on=1, actor=actor, now=NOW
    )

    assert (first.version, second.version) == (1, 2)
    first.refresh_from_db()
    assert first.document["lines"][0]["legs"][0]["length_in"] == 600.0
    assert latest_measurement(site) == second
    assert AuditEntry.objects.filter(target_type="estimating.sitemeasurement").count() == 2


def test_an_unchanged_document_saves_nothing() -> None:
    site = make_site()
    first = save_measurement(site=site, document=straight_line(), based_on=0, actor=None, now=NOW)

    again = save_measurement(site=site, document=straight_line(), based_on=1, actor=None, now=NOW)

    assert again == first
    assert SiteMeasurement.objects.count() == 1
    assert AuditEntry.objects.count() == 1


def test_who_typed_on_an_older_version_is_told_who_was_faster() -> None:
    site, faster = make_site(), make_person(Role.OWNER)
    save_measurement(site=site, document=straight_line(600.0), based_on=0, actor=faster, now=NOW)

    with pytest.raises(Refusal, match=f"{faster} saved version 1"):
        save_measurement(site=site, document=straight_line(612.0), based_on=0, actor=None, now=NOW)

    assert SiteMeasurement.objects.count() == 1


def test_conditions_begin_with_the_jurisdictions_rules() -> None:
    place = Jurisdiction.objects.create(
        name="Dunmere",
        frost_depth_in=42,
        hole_depth_in=36,
        height_limit_front_in=48,
        permit_fee=Decimal("65.00"),
        hand_dig_tolerance_in=18,
    )
    site = make_site(jurisdiction=place, soil="stiff", dig_method="hand", spoil="haul")

    conditions = conditions_of(site)

    assert conditions["frost_depth_in"] == 42
    assert conditions["local_hole_depth_in"] == 36
    assert conditions["height_limit_front_in"] == 48
    assert conditions["hand_dig_tolerance_in"] == 18
    assert str(conditions["permit_fee"]) == "65.00"
    assert (conditions["soil_class"], conditions["dig_method"]) == ("stiff", "hand")
    assert conditions["spoil"] == "haul"
