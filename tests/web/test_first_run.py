"""Setting the firm up on an empty database."""

import io
from typing import Any

import pytest
from django.test import Client
from PIL import Image
from pytest_django import DjangoAssertNumQueries

from estimating.models import PriceItem
from estimating.services.starter import load_starter_rows
from firm.forms.profile import ProfileForm, first_run_initial
from firm.models import AuditEntry, FirmProfile, Role, User
from tests.cast import make_person
from tests.factories import TODAY

pytestmark = pytest.mark.django_db

OWNER = {
    "owner-first_name": "Dana",
    "owner-last_name": "Orchard",
    "owner-email": "dana@example.com",
    "owner-username": "dana",
    "owner-password": "tall gate post",
    "owner-password_again": "tall gate post",
}


def typed(**changes: Any) -> dict[str, Any]:
    """Return the page as it opens, with the firm's name and address filled in."""
    form = ProfileForm(instance=FirmProfile(), initial=first_run_initial())
    shown = {field.name: field.value() for field in form if field.name != "logo"}
    firm = {
        "name": "Orchard Hollow Fence",
        "street": "12 Mill Lane",
        "city": "Fernbrook",
        "state": "OH",
        "postcode": "44999",
    }
    values = {name: value for name, value in shown.items() if value is not None}
    return values | firm | OWNER | changes


def picture(kind: str, size: tuple[int, int] = (300, 120)) -> io.BytesIO:
    file = io.BytesIO()
    Image.new("RGB", size, "#803010").save(file, kind)
    file.seek(0)
    file.name = f"logo.{kind.lower()}"
    return file


def test_empty_database_leads_from_log_in_to_set_up(client: Client) -> None:
    answer = client.get("/log-in/")
    assert answer.headers["Location"] == "/set-up/"
    assert client.get("/set-up/").status_code == 200


def test_set_up_makes_firm_and_owner_and_logs_the_owner_in(client: Client) -> None:
    answer = client.post("/set-up/", typed(next_estimate_number="2417", crew_rate="$64.50"))

    assert (answer.status_code, answer.headers["Location"]) == (302, "/")
    firm = FirmProfile.objects.get()
    assert (firm.name, firm.next_estimate_number, str(firm.crew_rate)) == (
        "Orchard Hollow Fence",
        2417,
        "64.50",
    )
    assert firm.hole_floor_in == 24
    owner = User.objects.get()
    assert (owner.username, owner.role) == ("dana", Role.OWNER)
    assert client.get("/settings/").status_code == 200
    assert AuditEntry.objects.filter(action="set the firm up", actor=owner).exists()


def test_set_up_stands_once(client: Client) -> None:
    client.post("/set-up/", typed())
    second = Client()
    assert second.get("/set-up/").headers["Location"] == "/log-in/"
    second.post("/set-up/", typed(**{"owner-username": "intruder", "name": "Other firm"}))
    assert User.objects.count() == 1
    assert FirmProfile.objects.get().name == "Orchard Hollow Fence"


def test_set_up_is_closed_where_an_owner_exists_without_a_profile(client: Client) -> None:
    make_person(Role.OWNER)
    client.post("/set-up/", typed())
    assert not FirmProfile.objects.exists()


def test_every_slip_is_named_and_nothing_typed_is_lost(client: Client) -> None:
    answer = client.post(
        "/set-up/",
        typed(
            street="",
            crew_rate="sixty",
            hole_floor_in="deep",
            terms="Our very own terms",
            **{"owner-password_again": "tall gate pots"},
        ),
    )
    page = answer.content.decode()
    assert answer.status_code == 422
    for name in ("street", "crew_rate", "hole_floor_in", "owner-password_again"):
        assert f'id="id_{name}_error"' in page
    for words in ("sixty", "deep", "Our very own terms", "Orchard Hollow Fence", "tall gate pots"):
        assert words in page
    assert not User.objects.exists()
    assert not FirmProfile.objects.exists()


def test_markup_in_a_name_is_refused_at_its_field(client: Client) -> None:
    page = client.post("/set-up/", typed(name="<script>alert(1)</script>")).content.decode()
    assert 'id="id_name_error"' in page
    assert "<script>alert" not in page
    assert not FirmProfile.objects.exists()


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_logo_is_drawn_anew_as_png(client: Client, kind: str) -> None:
    client.post("/set-up/", typed(logo=picture(kind, (2400, 600))))
    answer = client.get("/logo.png")
    assert answer.headers["Content-Type"] == "image/png"
    kept = Image.open(io.BytesIO(b"".join(answer.streaming_content)))  # type: ignore[attr-defined]
    # 2400 x 600 has to fit 1200 x 600: halved.
    assert (kept.format, kept.size) == ("PNG", (1200, 300))


def test_svg_and_other_kinds_are_no_logo(client: Client) -> None:
    drawing = io.BytesIO(b'<svg xmlns="http://www.w3.org/2000/svg"><script/></svg>')
    drawing.name = "logo.png"
    for file in (drawing, picture("GIF")):
        page = client.post("/set-up/", typed(logo=file)).content.decode()
        assert "This is not a PNG or JPEG picture" in page
    assert not FirmProfile.objects.exists()


def test_logo_over_two_megabytes_is_refused_with_its_size(client: Client) -> None:
    big = picture("PNG")
    # Bytes after a PNG's end are no part of the picture, yet count as sent: 3 MB of them.
    data = io.BytesIO(big.getvalue() + bytes(3 * 1024 * 1024))
    data.name = "logo.png"
    page = client.post("/set-up/", typed(logo=data)).content.decode()
    assert "The picture has 3.0 MB; 2 MB is the most." in page


def test_logo_too_wide_to_open_safely_is_refused(client: Client) -> None:
    page = client.post("/set-up/", typed(logo=picture("PNG", (6001, 1)))).content.decode()
    assert "6001 x 1 pixels" in page


def test_rate_below_wage_and_burden_is_refused(client: Client) -> None:
    # 30.00 an hour and 40 % burden cost 42.00.
    page = client.post(
        "/set-up/", typed(wage_rate="30", burden_pct="40", crew_rate="41.99")
    ).content.decode()
    assert "Wage and burden alone come to 42.00 an hour" in page
    answer = client.post("/set-up/", typed(wage_rate="30", burden_pct="40", crew_rate="42"))
    assert answer.status_code == 302


def test_sales_tax_without_a_rate_is_refused(client: Client) -> None:
    page = client.post("/set-up/", typed(sales_tax_base="all", sales_tax_pct="0")).content.decode()
    assert 'id="id_sales_tax_pct_error"' in page


def test_set_up_page_asks_the_database_twice(
    client: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    # Whether the firm is set up; its units.
    with django_assert_num_queries(2):
        client.get("/set-up/")


def test_only_reading_and_sending_is_understood(client: Client) -> None:
    assert client.delete("/set-up/").status_code == 405


@pytest.mark.parametrize("is_loaded_before", [False, True])
def test_metric_firm_begins_with_a_price_book_by_the_metre(
    client: Client, is_loaded_before: bool
) -> None:
    if is_loaded_before:
        load_starter_rows(today=TODAY)
        assert PriceItem.objects.filter(purchase_unit="ft").exists()
    assert client.post("/set-up/", typed(units="metric")).status_code == 302
    units = set(PriceItem.objects.values_list("purchase_unit", flat=True))
    assert "cm" in units
    assert "ft" not in units
    # A leaf at 32.00 a foot: 32 / 0.3048 = 104.9869 a metre.
    book = client.get("/price-book/").content.decode()
    assert "$104.9869" in book
