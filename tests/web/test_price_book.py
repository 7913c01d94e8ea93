"""Prices, production rates and fence systems as people of the firm change them."""

import datetime as dt
import json
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from estimating.models import FenceSystem, PriceItem
from estimating.selectors.price_book import is_stale
from estimating.services.starter import load_starter_rows
from firm.models import AuditEntry, Role

pytestmark = pytest.mark.django_db


def item(**changes: Any) -> PriceItem:
    values: dict[str, Any] = {
        "key": "post",
        "name": "Cedar post",
        "unit_cost": Decimal("19.5"),
        "checked_on": timezone.localdate(),
    }
    return PriceItem.objects.create(**(values | changes))


def typed(**changes: Any) -> dict[str, Any]:
    values = {
        "name": "Cedar post",
        "key": "post",
        "kind": "material",
        "unit_cost": "21.75",
        "purchase_unit": "each",
        "pack": "1",
        "unit": "each",
        "waste_pct": "5",
        "yield_ft3": "",
        "supplier": "",
        "part_number": "",
        "checked_on": timezone.localdate().isoformat(),
        "is_active": "on",
    }
    return values | changes


@pytest.mark.parametrize(
    ("role", "expected"),
    [(Role.OWNER, 200), (Role.OFFICE, 200), (Role.CREW_LEAD, 403), (None, 302)],
)
@pytest.mark.parametrize(
    "address", ["/price-book/", "/price-book/new/", "/price-book/rates/", "/price-book/systems/"]
)
def test_price_book_is_for_owner_and_office(
    as_role: Callable[[Role | None], Client], address: str, role: Role | None, expected: int
) -> None:
    assert as_role(role).get(address).status_code == expected


# --- Prices ---


def test_office_changes_a_price_and_the_record_says_so(as_office: Client) -> None:
    row = item()
    answer = as_office.post(f"/price-book/{row.pk}/", typed(unit_cost="$21.755"))
    assert answer.status_code == 302
    row.refresh_from_db()
    assert (row.unit_cost, row.waste_pct) == (Decimal("21.7550"), 5.0)
    entry = AuditEntry.objects.get(action="changed a price")
    assert (entry.before["unit_cost"], entry.after["unit_cost"]) == ("19.5000", "21.755")


def test_a_price_is_shown_as_people_write_it(as_office: Client) -> None:
    row = item(unit_cost=Decimal("19.5000"), pack=100.0)
    page = as_office.get(f"/price-book/{row.pk}/").content.decode()
    assert 'value="19.50"' in page
    assert 'value="100"' in page

    PriceItem.objects.filter(pk=row.pk).update(unit_cost=Decimal("0.1275"))
    assert 'value="0.1275"' in as_office.get(f"/price-book/{row.pk}/").content.decode()


def test_short_name_of_an_item_stays(as_office: Client) -> None:
    row = item()
    as_office.post(f"/price-book/{row.pk}/", typed(key="other"))
    row.refresh_from_db()
    assert row.key == "post"


def test_item_is_added(as_office: Client) -> None:
    assert as_office.post("/price-book/new/", typed(key="cap", name="Cap")).status_code == 302
    assert PriceItem.objects.get(key="cap").unit_cost == Decimal("21.75")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("unit_cost", "-1"),
        ("unit_cost", "NaN"),
        ("unit_cost", "dear"),
        ("pack", "0"),
        ("pack", "0.0001"),
        ("yield_ft3", "1e-300"),
        ("yield_ft3", "1e308"),
        ("waste_pct", "101"),
        ("key", "with blanks"),
        ("name", "<script>alert(1)</script>"),
        ("checked_on", "2999-01-01"),
        ("kind", "gold"),
    ],
)
def test_bad_input_is_named_at_its_field_and_the_rest_kept(
    as_office: Client, field: str, value: str
) -> None:
    page = as_office.post(
        "/price-book/new/", typed(part_number="Yard of Quarry Bend") | {field: value}
    ).content.decode()
    assert f'id="id_{field}_error"' in page
    assert "Yard of Quarry Bend" in page
    assert not PriceItem.objects.exists()


def test_taken_short_name_is_refused(as_office: Client) -> None:
    item()
    page = as_office.post("/price-book/new/", typed()).content.decode()
    assert 'id="id_key_error"' in page
    assert PriceItem.objects.count() == 1


def test_price_is_old_after_ninety_days_or_when_never_checked() -> None:
    # 1 March and 90 days: 30 left of March, 30 of April, 30 of May make 30 May.
    row = PriceItem(checked_on=dt.date(2026, 3, 1))
    assert not is_stale(row, today=dt.date(2026, 5, 30))
    assert is_stale(row, today=dt.date(2026, 5, 31))
    assert is_stale(PriceItem(checked_on=None), today=dt.date(2026, 5, 30))


def test_old_price_is_flagged_and_confirmed_with_one_click(as_office: Client) -> None:
    row = item(checked_on=timezone.localdate() - dt.timedelta(days=91))
    assert "1 price was not checked" in as_office.get("/price-book/").content.decode()
    assert as_office.get(f"/price-book/{row.pk}/checked/").status_code == 405
    as_office.post(f"/price-book/{row.pk}/checked/")
    row.refresh_from_db()
    assert row.checked_on == timezone.localdate()
    assert row.unit_cost == Decimal("19.5")


def test_list_is_narrowed_by_words_and_age(as_office: Client) -> None:
    item()
    item(key="wire", name="Wire", checked_on=None)
    assert "Wire" not in as_office.get("/price-book/", {"q": "cedar"}).content.decode()
    only_old = as_office.get("/price-book/", {"stale": "1"}).content.decode()
    assert "Wire" in only_old
    assert "Cedar post" not in only_old


def test_price_list_takes_four_queries_for_the_whole_starter_catalog(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    load_starter_rows(today=timezone.localdate())
    # Session, person, prices, the firm's units.
    with django_assert_num_queries(4):
        as_office.get("/price-book/")
    # Session, person, systems that ask for rates, rates, the firm's units.
    with django_assert_num_queries(5):
        as_office.get("/price-book/rates/")
    # Session, person, systems (and whether there are any), the firm's units.
    with django_assert_num_queries(4):
        as_office.get("/price-book/systems/")


# --- Fence systems ---


@pytest.fixture
def system() -> FenceSystem:
    load_starter_rows(today=timezone.localdate())
    return FenceSystem.objects.get(key="vinyl_privacy_6ft")


def system_typed(system: FenceSystem, definition: Any, **changes: Any) -> dict[str, Any]:
    values = {
        "name": system.name,
        "key": system.key,
        "is_active": "on",
        "definition_text": definition if isinstance(definition, str) else json.dumps(definition),
        "seen_changed_at": system.changed_at.isoformat(),
    }
    return values | changes


def test_system_is_shown_with_the_names_of_its_items(
    as_office: Client, system: FenceSystem
) -> None:
    page = as_office.get(f"/price-book/systems/{system.pk}/").content.decode()
    assert "Vinyl post 5 x 5 in, 9 ft" in page
    assert "Vinyl post cap 5 x 5 in" in page
    assert f"/price-book/systems/{system.pk}/edit/" in page


def test_owner_changes_a_figure_of_a_system(as_owner: Client, system: FenceSystem) -> None:
    changed = {**system.definition, "max_on_centre_in": 72.0}
    answer = as_owner.post(f"/price-book/systems/{system.pk}/edit/", system_typed(system, changed))
    assert answer.status_code == 302
    system.refresh_from_db()
    assert system.definition["max_on_centre_in"] == 72.0


def test_a_length_of_a_system_may_be_typed_with_its_unit(
    as_owner: Client, system: FenceSystem
) -> None:
    changed = {**system.definition, "max_on_centre_in": "6 ft", "ground_gap_in": "5 cm"}
    answer = as_owner.post(f"/price-book/systems/{system.pk}/edit/", system_typed(system, changed))
    assert answer.status_code == 302
    system.refresh_from_db()
    # 50 / 25.4 = 1.9685 in: 31.496 sixteenths, so 1 15/16 in.
    assert (system.definition["max_on_centre_in"], system.definition["ground_gap_in"]) == (
        72,
        1.9375,
    )


def test_office_copies_and_changes_a_system(as_office: Client, system: FenceSystem) -> None:
    changed = {**system.definition, "max_on_centre_in": 72.0}
    address = f"/price-book/systems/{system.pk}/edit/"
    assert as_office.post(address, system_typed(system, changed)).status_code == 302
    typed = system_typed(system, changed, key="office_copy", name="Copy")
    answer = as_office.post(f"/price-book/systems/new/?from={system.key}", typed)
    assert answer.status_code == 302
    assert FenceSystem.objects.get(key="office_copy").definition["max_on_centre_in"] == 72.0


def test_system_the_engine_can_not_read_is_refused_with_the_place(
    as_owner: Client, system: FenceSystem
) -> None:
    broken = {**system.definition, "max_on_centre_in": "wide"}
    page = as_owner.post(
        f"/price-book/systems/{system.pk}/edit/", system_typed(system, broken)
    ).content.decode()
    assert 'id="id_definition_text_error"' in page
    assert "max_on_centre_in" in page
    # What was typed is still there.
    assert "wide" in page
    system.refresh_from_db()
    assert system.definition["max_on_centre_in"] == 96.0


@pytest.mark.parametrize("text", ["{", "[]", "null", '{"posts": NaN}', "[" * 5000])
def test_text_that_is_no_definition_is_refused(
    as_owner: Client, system: FenceSystem, text: str
) -> None:
    answer = as_owner.post(f"/price-book/systems/{system.pk}/edit/", system_typed(system, text))
    assert answer.status_code == 422
    assert 'id="id_definition_text_error"' in answer.content.decode()


def test_slip_in_json_is_named_by_its_line(as_owner: Client, system: FenceSystem) -> None:
    page = as_owner.post(
        f"/price-book/systems/{system.pk}/edit/",
        system_typed(system, '{\n  "family": "panel"\n  "height_in": 72\n}'),
    ).content.decode()
    assert "Line 3, column 3" in page


def test_system_with_an_item_the_price_book_lacks_is_refused(
    as_owner: Client, system: FenceSystem
) -> None:
    definition = json.loads(json.dumps(system.definition))
    definition["materials"][0]["item"] = "golden_cap"
    page = as_owner.post(
        f"/price-book/systems/{system.pk}/edit/", system_typed(system, definition)
    ).content.decode()
    assert 'id="id_definition_text_error"' in page
    assert "golden_cap" in page


def test_copy_of_a_system_becomes_one_of_its_own(as_owner: Client, system: FenceSystem) -> None:
    page = as_owner.get("/price-book/systems/new/", {"from": system.key}).content.decode()
    assert "vinyl_post_5x5_9ft" in page
    answer = as_owner.post(
        "/price-book/systems/new/",
        system_typed(
            system, system.definition, key="vinyl_two", name="Vinyl two", seen_changed_at=""
        ),
    )
    assert answer.status_code == 302
    assert FenceSystem.objects.get(key="vinyl_two").definition == system.definition


def test_change_made_by_someone_else_meanwhile_is_not_overwritten(
    as_owner: Client, system: FenceSystem
) -> None:
    typed_before = system_typed(system, {**system.definition, "height_in": 70.0})
    FenceSystem.objects.filter(pk=system.pk).update(changed_at=timezone.now())
    page = as_owner.post(f"/price-book/systems/{system.pk}/edit/", typed_before).content.decode()
    assert "Someone changed this fence system while you did" in page
    system.refresh_from_db()
    assert system.definition["height_in"] == 72.0


# --- What a change does to a sample line ---


def rows_shown(page: str) -> dict[str, list[str]]:
    """The table's rows by their heading, as text."""
    rows = re.findall(r'<tr><th scope="row">(.*?)</th>(.*?)</tr>', page)
    return {name: re.findall(r"<td[^>]*>(.*?)</td>", cells) for name, cells in rows}


def test_owner_sees_what_a_change_does_before_it_is_saved(
    as_owner: Client, system: FenceSystem
) -> None:
    # 60 and 40 ft, 42 in gate from 30 ft on. Posts 5 in: their centres at 357.5 and 404.5 in, so
    # 357.5, 315.5 and 480 in. At 96 in: 4 + 4 + 5 bays, a gate, 15 posts; at 72 in: 5 + 5 + 7, 19.
    changed = {**system.definition, "max_on_centre_in": 72.0}
    typed = system_typed(system, changed, sample="1")
    answer = as_owner.post(f"/price-book/systems/{system.pk}/edit/", typed)
    rows = rows_shown(answer.content.decode())

    assert answer.status_code == 200
    assert rows["Bays"] == ["13", "17", "4"]
    assert rows["Posts"] == ["15", "19", "4"]
    system.refresh_from_db()
    assert system.definition["max_on_centre_in"] == 96.0


def test_copy_is_compared_with_what_it_was_copied_from(
    as_owner: Client, system: FenceSystem
) -> None:
    typed = system_typed(system, system.definition, key="mine", sample="1")
    page = as_owner.post(f"/price-book/systems/new/?from={system.key}", typed).content.decode()
    rows = rows_shown(page)

    assert rows["Bays"] == ["13", "13", "0"]
    assert not FenceSystem.objects.filter(key="mine").exists()


def test_sample_of_a_system_that_can_not_be_read_says_so_at_the_field(
    as_owner: Client, system: FenceSystem
) -> None:
    broken = {**system.definition, "max_on_centre_in": "wide"}
    typed = system_typed(system, broken, sample="1")
    page = as_owner.post(f"/price-book/systems/{system.pk}/edit/", typed).content.decode()

    assert "max_on_centre_in: &#x27;wide&#x27; is not a length" in page
    assert "&quot;wide&quot;" in page
    assert "What it does to a sample line</h2>" not in page


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"max_on_centre_in": 3}, "max_on_centre_in"),
        ({"posts": {}}, "posts.end"),
        ({"height_in": "tall"}, "height_in"),
    ],
)
def test_a_sample_line_of_figures_that_can_not_be_is_refused_and_nothing_typed_is_lost(
    as_office: Client, system: FenceSystem, change: dict[str, Any], told: str
) -> None:
    typed = system_typed(system, {**system.definition, **change}, sample="1", name="Half typed")
    answer = as_office.post(f"/price-book/systems/{system.pk}/edit/", typed)
    page = answer.content.decode()

    assert answer.status_code == 422
    assert 'id="id_definition_text_error"' in page
    assert told in page
    assert "Half typed" in page
    assert "What it does to a sample line" not in page
    system.refresh_from_db()
    assert system.name != "Half typed"
