"""Customers, sites and files that tests of the firm's own pages are played with."""

import io
from typing import Any

from PIL import Image

from firm.models import Customer, JobSite, Jurisdiction, User
from firm.services.customers import add_customer
from firm.services.sites import add_site
from tests.cast import NOW

PDF_BYTES = b"%PDF-1.4\n1 0 obj\n<< >>\nendobj\n%%EOF\n"


def make_customer(**changes: Any) -> Customer:
    """Return a customer with an address."""
    values: dict[str, Any] = {
        "name": "Wren Halloway",
        "phone": "555-0142",
        "email": "wren@example.com",
        "street": "4 Larch Court",
        "city": "Dunmere",
    }
    return add_customer(actor=None, values=values | changes, at=NOW)


def make_jurisdiction(**changes: Any) -> Jurisdiction:
    """Return a town: 2 working days' notice, 28 calendar days of life from the call."""
    values: dict[str, Any] = {
        "name": "Town of Dunmere",
        "frost_depth_in": 32,
        "locate_notice": 2,
        "locate_life_days": 28,
        "locate_renew_days_before": 3,
        "locate_earliest_call_days": 10,
    }
    return Jurisdiction.objects.create(**(values | changes))


def make_site(*, actor: User | None = None, **changes: Any) -> JobSite:
    """Return a site with its clearances."""
    values: dict[str, Any] = {"street": "9 Birch Way", "city": "Dunmere"}
    values = values | changes
    values.setdefault("customer", Customer.objects.first() or make_customer())
    return add_site(actor=actor, values=values, at=NOW)


def picture_bytes(
    kind: str = "JPEG", *, captured: str = "", offset: str = "", orientation: int = 1
) -> bytes:
    """Return a small picture as a camera would write it."""
    picture = Image.new("RGB", (64, 32), (120, 90, 60))
    exif = picture.getexif()
    exif[0x0112] = orientation
    directory = exif.get_ifd(0x8769)
    if captured:
        directory[0x9003] = captured
    if offset:
        directory[0x9011] = offset
    out = io.BytesIO()
    picture.save(out, format=kind, exif=exif)
    return out.getvalue()
