"""Rows that tests begin with; every value can be given, the rest are plain and invented."""

import datetime as dt
from decimal import Decimal
from functools import cache
from typing import Any
from unittest.mock import patch

from estimating.models import Estimate, Proposal
from estimating.services import proposal_sending
from estimating.services.proposal_pdf import render_proposal_pdf
from estimating.services.proposal_sending import send_proposal
from estimating.services.proposals import create_draft
from firm.models import Customer, FirmProfile, JobSite
from firm.services import jobs

_printed_once = cache(render_proposal_pdf)
NOW = dt.datetime(2026, 5, 4, 15, 0, tzinfo=dt.UTC)  # a Monday, 11 in the morning in New York
TODAY = dt.date(2026, 5, 4)


def make_firm(**changes: Any) -> FirmProfile:
    """Return the one firm."""
    values: dict[str, Any] = {
        "name": "Alder & Post Fencing",
        "street": "18 Mill Lane",
        "city": "Dunmere",
        "state": "NY",
        "postcode": "12345",
        "phone": "555-0140",
        "email": "office@alder.example",
        "licence": "F-2210",
        "set_up_at": NOW,
    }
    row, _ = FirmProfile.objects.update_or_create(id=1, defaults=values | changes)
    return row


def make_customer(**changes: Any) -> Customer:
    """Return a customer."""
    values: dict[str, Any] = {
        "name": "Wren Halloway",
        "email": "wren@example.com",
        "phone": "555-0117",
        "street": "4 Larch Court",
        "city": "Dunmere",
        "state": "NY",
        "postcode": "12345",
        "created_at": NOW,
    }
    return Customer.objects.create(**(values | changes))


def make_site(customer: Customer | None = None, **changes: Any) -> JobSite:
    """Return a job site of the customer, or of a new one."""
    values: dict[str, Any] = {
        "customer": customer or make_customer(),
        "street": "4 Larch Court",
        "city": "Dunmere",
        "state": "NY",
        "postcode": "12345",
        "created_at": NOW,
    }
    return JobSite.objects.create(**(values | changes))


def make_estimate(site: JobSite | None = None, **changes: Any) -> Estimate:
    """Return a priced estimate of one 32 ft vinyl line with a walk gate, its result by hand."""
    place = site or make_site()
    values: dict[str, Any] = {
        "number": 1001,
        "customer": place.customer,
        "site": place,
        "title": "Privacy fence behind the house",
        "document": site_document(),
        "catalog": {"fence_systems": {"vinyl_6": {"name": "vinyl privacy fence", "height_in": 72}}},
        "result": estimate_result(),
        "price_before_tax": Decimal("4000.00"),
        "sales_tax": Decimal("80.10"),
        "price": Decimal("4080.10"),
        "margin_pct": Decimal("12.00"),
        "created_at": NOW,
        "priced_at": NOW,
    }
    return Estimate.objects.create(**(values | changes))


def site_document() -> dict[str, Any]:
    """Return the measured site behind `estimate_result`: 384 in with a 48 in gate."""
    return {
        "format": "firm-footing-site",
        "version": 1,
        "name": "Larch Court",
        "notes": "",
        "conditions": {"spoil": "haul", "frost_depth_in": 36},
        "lines": [
            {
                "id": "A",
                "name": "Back line",
                "system": "vinyl_6",
                "yard": "rear",
                "finished_face": "left",
                "legs": [{"length_in": 384.0, "turn_deg": 0.0}],
                "gates": [
                    {
                        "id": "G1",
                        "station_in": 194.5,
                        "clear_opening_in": 48.0,
                        "hinge_side": "start",
                        "swing": "right",
                    }
                ],
            }
        ],
    }


def estimate_result() -> dict[str, Any]:
    """Return what an engine says of `site_document`, laid out by hand.

    Posts 5 in wide at 0, 96, 192 (gate), 245 (gate) and 384 in: bays of 96, 96 and 139 in would
    break a rule of the real engine; here only words, counts and money matter.
    """
    stations = (
        (1, "end", 0.0),
        (2, "line", 96.0),
        (3, "gate", 192.0),
        (4, "gate", 245.0),
        (5, "end", 384.0),
    )
    return {
        "lines": [
            {
                "line_id": "A",
                "name": "Back line",
                "system": "vinyl_6",
                "scope": "whole_fence",
                "finished_face": "left",
                "length_in": 384.0,
                "fence_ft": 28.0,
                "plan_points": [[0.0, 0.0], [384.0, 0.0]],
                "sections": [],
                "posts": [_post(number, kind, at) for number, kind, at in stations],
                "bays": [_bay(1, 1, 2, 0.0, 96.0), _bay(2, 2, 3, 96.0, 96.0)],
                "gates": [
                    {
                        "id": "G1",
                        "line_id": "A",
                        "from_post": 3,
                        "to_post": 4,
                        "station_in": 194.5,
                        "clear_opening_in": 48.0,
                        "on_centre_in": 53.0,
                        "leaf_in": 46.0,
                        "leaves": 1,
                        "use": "walk",
                        "hinge_side": "start",
                        "swing": "right",
                        "latch": "standard",
                    }
                ],
            }
        ],
        "holes": [
            {"post_number": number, "diameter_in": 12.0, "depth_in": 36.0} for number in range(1, 6)
        ],
        "price_lines": [
            {"key": "line:A", "description": "Back line", "amount": "3450.00"},
            {"key": "gate:A:G1", "description": "Walk gate in back line", "amount": "550.00"},
        ],
        "options": [
            {
                "key": "typed-1",
                "description": "Caps with a light on the gate posts",
                "amount": "120.00",
                "tax_amount": "2.40",
            },
            {
                "key": "typed-2",
                "description": "Take down 40 ft of wire fence",
                "amount": "260.00",
                "tax_amount": "0",
            },
        ],
        "money": {"price_before_tax": "4000.00", "sales_tax": "80.10", "price": "4080.10"},
        "findings": [],
    }


def _post(number: int, kind: str, station_in: float) -> dict[str, Any]:
    return {
        "number": number,
        "line_id": "A",
        "kind": kind,
        "routing": "line",
        "product": "post_5x5",
        "width_in": 5.0,
        "length_in": 108.0,
        "station_in": station_in,
        "x_in": station_in,
        "y_in": 0.0,
        "elevation_in": 0.0,
        "hand_dig": False,
        "shared_with": "",
    }


def _bay(number: int, before: int, after: int, start_in: float, length_in: float) -> dict[str, Any]:
    return {
        "number": number,
        "line_id": "A",
        "section": 1,
        "from_post": before,
        "to_post": after,
        "start_station_in": start_in,
        "on_centre_in": length_in,
        "spacer_in": length_in - 5.0,
        "panel_in": length_in - 5.0,
        "is_cut": False,
    }


def make_sent_proposal(estimate: Estimate | None = None, **firm: Any) -> Proposal:
    """Return a proposal that was printed and mailed to wren@example.com at NOW.

    The same content is really printed only once in a test run: printing takes half a second.
    """
    make_firm(**firm)
    draft = create_draft(estimate=estimate or make_estimate(), actor=None, now=NOW)
    send_proposal(proposal=draft, to="wren@example.com", actor=None, now=NOW)
    with patch.object(proposal_sending, "render_proposal_pdf", _printed_once):
        jobs.run_due_jobs(now=NOW)
    draft.refresh_from_db()
    return draft
