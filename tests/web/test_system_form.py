"""A fence system changed field by field: what was not touched stays to the last digit."""

import copy
import re
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from estimating.models import FenceSystem
from estimating.services.starter import load_starter_rows
from tests.factories import make_firm
from tests.web.system_pages import address_of, fresh, put, shown, text_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]
KEYS = (
    "vinyl_privacy_6ft",
    "chain_link_6ft_commercial",
    "wood_privacy_lapped_6ft",
    "field_fence_4ft",
    "split_rail_3",
    "aluminium_panel_4ft",
)


@pytest.fixture
def system() -> FenceSystem:
    load_starter_rows(today=timezone.localdate())
    return FenceSystem.objects.get(key="vinyl_privacy_6ft")


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_page_sent_back_as_it_was_shown_changes_nothing(
    as_office: Client, system: FenceSystem, key: str, units: str
) -> None:
    make_firm(units=units)
    row = FenceSystem.objects.get(key=key)
    before = copy.deepcopy(row.definition)
    answer = as_office.post(address_of(row), shown(as_office, address_of(row)))
    assert answer.status_code == 302
    row.refresh_from_db()
    assert row.definition == before


# Where each figure is kept, what is typed, what is kept then: 2450 mm is 96.457 in, 1543.3
# sixteenths, so 96 7/16; 5 cm is 1.9685 in, so 1 15/16.
CHANGES = [
    ("top-height_in", "5 ft", ("height_in",), 60),
    ("top-max_on_centre_in", "2450 mm", ("max_on_centre_in",), 96.4375),
    ("top-ground_gap_in", "5 cm", ("ground_gap_in",), 1.9375),
    ("top-rails", "fixed", ("rails",), "fixed"),
    ("top-max_rack_in", "0", ("max_rack_in",), 0),
    ("top-spacing", "along_grade", ("spacing",), "along_grade"),
    ("hole-base_depth_in", "3 ft", ("hole", "base_depth_in"), 36),
    ("hole-times_width", "3.5", ("hole", "times_width"), 3.5),
    ("hole-concrete_top_in", "2 in", ("hole", "concrete_top_in"), -2),
    ("hole-concrete_top_in", "-1 in", ("hole", "concrete_top_in"), 1),
    ("gate-latch_gap_in", "1 1/2 in", ("gate", "latch_gap_in"), 1.5),
    ("posts-line-length_in", "10 ft", ("posts", "line", "length_in"), 120),
    ("posts-gate-hole_diameter_in", "16", ("posts", "gate", "hole_diameter_in"), 16),
    ("posts-line-item", "vinyl post 5 x 5 in, 10 ft", ("posts", "line", "item"),
     "vinyl_post_5x5_10ft"),
    ("materials-0-quantity", "2", ("materials", 0, "quantity"), 2),
    ("materials-0-driver", "terminal", ("materials", 0, "driver"), "terminal"),
    ("labor-hang_bay", "hang.ranch_rail_bay", ("labor", "hang_bay"), "hang.ranch_rail_bay"),
    ("wind-solidity", "0.8", ("wind", "solidity"), 0.8),
    ("wind-is_movement_harmless", "True", ("wind", "is_movement_harmless"), True),
]  # fmt: skip


@pytest.mark.parametrize(("name", "typed", "path", "kept"), CHANGES)
def test_one_field_changes_one_figure(
    as_office: Client,
    system: FenceSystem,
    name: str,
    typed: str,
    path: tuple[Any, ...],
    kept: Any,
) -> None:
    expected = copy.deepcopy(system.definition)
    put(expected, path, kept)
    answer = as_office.post(address_of(system), fresh(as_office, system) | {name: typed})
    assert answer.status_code == 302
    system.refresh_from_db()
    assert system.definition == expected


# What carries a gate, how strong posts are, where an item counts: all typed at once.
GATE_CHANGES: list[tuple[str, str, tuple[Any, ...], Any]] = [
    ("top-board_coverage_in", "11 1/4 in", ("board_coverage_in",), 11.25),
    ("top-channel_allowance_in", "3/4 in", ("channel_allowance_in",), 0.75),
    ("top-corner_turn_deg", "10", ("corner_turn_deg",), 10),
    ("gate-usual_post_up_to_leaf_lb", "90", ("gate", "usual_post_up_to_leaf_lb"), 90),
    ("gate-third_hinge_over_leaf_in", "5 ft 6 in", ("gate", "third_hinge_over_leaf_in"), 66),
    ("gate-third_hinge_over_leaf_lb", "120", ("gate", "third_hinge_over_leaf_lb"), 120),
    ("gate-slide-tail_pct", "40", ("gate", "slide", "tail_pct"), 40),
    ("gate-slide-post-width_in", "4 1/2 in", ("gate", "slide", "post", "width_in"), 4.5),
    ("gate-heavier_posts-0-up_to_leaf_in", "7 ft", ("gate", "heavier_posts", 0, "up_to_leaf_in"),
     84),
    ("gate-heavier_posts-0-post-least_depth_in", "4 ft",
     ("gate", "heavier_posts", 0, "post", "least_depth_in"), 48),
    ("gate-heavier_posts-0-strength-insert_yield_psi", "50000",
     ("gate", "heavier_posts", 0, "strength", "insert_yield_psi"), 50_000),
    ("wind-posts-end-insert", "full_depth", ("wind", "posts", "end", "insert"), "full_depth"),
    ("materials-0-roles", "Corner post, end post", ("materials", 0, "roles"), ["corner", "end"]),
    ("materials-0-leaves", "two leaves", ("materials", 0, "leaves"), [2]),
    ("materials-0-uses", "pool gates", ("materials", 0, "uses"), ["pool"]),
    ("materials-0-gate_posts", "steel_core", ("materials", 0, "gate_posts"), ["steel_core"]),
    ("materials-0-less", "1", ("materials", 0, "less"), 1),
    ("materials-0-reach", "full_depth", ("materials", 0, "reach"), "full_depth"),
]  # fmt: skip


def test_what_carries_a_gate_and_where_an_item_counts_have_fields(
    as_office: Client, system: FenceSystem
) -> None:
    expected = copy.deepcopy(system.definition)
    for _, _, path, kept in GATE_CHANGES:
        put(expected, path, kept)
    typed = {name: text for name, text, _, _ in GATE_CHANGES}
    address = address_of(system)
    assert as_office.post(address, fresh(as_office, system) | typed).status_code == 302
    system.refresh_from_db()
    assert system.definition == expected


def test_items_are_added_and_left_out(as_office: Client, system: FenceSystem) -> None:
    before = system.definition["materials"]
    new = len(before)
    changes = {
        "materials-0-drop": "on",
        f"materials-{new}-item": "Vinyl post cap 5 x 5 in",
        f"materials-{new}-driver": "corner",
        f"materials-{new}-quantity": "2",
    }
    as_office.post(address_of(system), fresh(as_office, system) | changes)
    system.refresh_from_db()
    added = {"item": "vinyl_cap_5x5", "quantity": 2.0, "driver": "corner"}
    assert system.definition["materials"] == [*before[1:], added]


def test_heavier_gate_posts_are_added_and_left_out(as_office: Client, system: FenceSystem) -> None:
    before = system.definition["gate"]["heavier_posts"]
    new = f"gate-heavier_posts-{len(before)}-"
    changes = {
        f"{new}key": "twice",
        f"{new}up_to_leaf_in": "12 ft",
        f"{new}post-item": "Vinyl post 5 x 5 in, 12 ft",
        f"{new}post-width_in": "5 in",
        f"{new}post-length_in": "12 ft",
        "gate-heavier_posts-0-strength-material": "",
    }
    address = address_of(system)
    assert as_office.post(address, fresh(as_office, system) | changes).status_code == 302
    system.refresh_from_db()
    kept, added = system.definition["gate"]["heavier_posts"]
    assert kept == {name: each for name, each in before[0].items() if name != "strength"}
    post = {"item": "vinyl_post_5x5_12ft", "width_in": 5.0, "length_in": 144.0}
    assert added == {"key": "twice", "up_to_leaf_in": 144.0, "post": post}

    struck = shown(as_office, address) | {"gate-heavier_posts-0-drop": "on"}
    assert as_office.post(address, struck).status_code == 302
    system.refresh_from_db()
    assert [each["key"] for each in system.definition["gate"]["heavier_posts"]] == ["twice"]


def test_a_post_s_strength_is_added_and_emptied(as_office: Client, system: FenceSystem) -> None:
    address = address_of(system)
    before = copy.deepcopy(system.definition)
    strong = {"wind-posts-gate-material": "pipe", "wind-posts-gate-wall_in": "0.226"}
    assert as_office.post(address, fresh(as_office, system) | strong).status_code == 302
    system.refresh_from_db()
    # The wall of a 4 in pipe, which mills give in thousandths, is kept to the thousandth.
    assert system.definition["wind"]["posts"]["gate"] == {"material": "pipe", "wall_in": 0.226}
    of_what = shown(as_office, address) | {"wind-posts-pull-yield_psi": "30000"}
    refused = as_office.post(address, of_what)
    assert refused.status_code == 422
    place = refused.content.decode().partition('id="id_wind-posts-pull-material_error"')[2][:200]
    assert "This is missing" in place
    emptied = shown(as_office, address) | {"wind-posts-gate-material": ""}
    assert as_office.post(address, emptied).status_code == 302
    system.refresh_from_db()
    assert system.definition == before


def test_a_part_with_a_slip_stands_open(as_office: Client, system: FenceSystem) -> None:
    sent = fresh(as_office, system) | {"materials-3-quantity": "many"}
    page = as_office.post(address_of(system), sent).content.decode()
    part = page[: page.index('id="id_materials-3-quantity"')].rpartition("<details")
    assert part[2].startswith(' class="fold system-row" open')
    assert '<details class="fold part-fold" open>' in part[0]
    assert page.count(" open>") == 3  # that part, that item, and the first part as always


def test_a_role_emptied_takes_the_end_post(as_office: Client, system: FenceSystem) -> None:
    changes = {"posts-pull-item": ""}
    as_office.post(address_of(system), fresh(as_office, system) | changes)
    system.refresh_from_db()
    assert "pull" not in system.definition["posts"]


def test_longer_posts_are_typed_one_a_line(as_office: Client, system: FenceSystem) -> None:
    changes = {"posts-line-longer": "Vinyl post 5 x 5 in, 12 ft: 12 ft\r\n"}
    as_office.post(address_of(system), fresh(as_office, system) | changes)
    system.refresh_from_db()
    assert system.definition["posts"]["line"]["longer"] == {"vinyl_post_5x5_12ft": 144.0}


@pytest.mark.parametrize(
    ("name", "typed", "told"),
    [
        ("top-height_in", "tall", "'tall' is not a length"),
        ("top-height_in", "", "This field is required"),
        ("top-max_on_centre_in", "3", "This must be 12 in or more"),
        ("hole-times_width", "1_0", "Enter a number"),
        ("hole-bell_diameter_in", "20", "A bell has a width and a height"),
        ("posts-end-item", "Golden post", "The price book has no item 'Golden post'"),
        ("posts-line-width_in", "", "This is missing"),
        ("posts-line-longer", "Vinyl post", "needs a name, a colon and a length"),
        ("materials-0-item", "Golden cap", "The price book has no item 'Golden cap'"),
        ("materials-0-driver", "moon", "Select a valid choice"),
        ("materials-0-roles", "roof", "'roof' is none of these: line post, end post"),
        ("gate-heavier_posts-0-key", "slide", "'slide' is taken by another post"),
        ("wind-posts-end-yield_psi", "1e9", "This must be from 0 psi to 200000 psi"),
        ("wind-solidity", "2", "less than or equal to 1"),
    ],
)
def test_bad_value_is_told_at_its_field_in_words(
    as_office: Client, system: FenceSystem, name: str, typed: str, told: str
) -> None:
    sent = fresh(as_office, system) | {name: typed, "name": "Half typed"}
    answer = as_office.post(address_of(system), sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    at = "hole-bell_height_in" if "bell" in name else name
    place = re.search(rf'id="id_{at}_error".*?</ul>', page, re.S)
    assert place
    assert told in text_of(place[0].encode())
    assert "Half typed" in page
    system.refresh_from_db()
    assert system.name != "Half typed"


def test_a_figure_changed_in_field_and_text_is_asked_about(
    as_office: Client, system: FenceSystem
) -> None:
    sent = fresh(as_office, system)
    text = sent["definition_text"].replace('"height_in": 72.0', '"height_in": 70.0')
    assert text != sent["definition_text"]
    twice = sent | {"definition_text": text, "top-height_in": "5 ft"}
    answer = as_office.post(address_of(system), twice)
    assert answer.status_code == 422
    assert "Change it in one place" in text_of(answer.content)

    apart = sent | {"definition_text": text, "hole-gravel_in": "4 in"}
    assert as_office.post(address_of(system), apart).status_code == 302
    system.refresh_from_db()
    assert system.definition["height_in"] == 70
    assert system.definition["hole"]["gravel_in"] == 4


def test_the_sample_line_answers_as_a_part_of_the_page(
    as_office: Client, system: FenceSystem
) -> None:
    # Posts and bays at 72 in: worked in test_price_book.py.
    address = f"/price-book/systems/new/?from={system.key}"
    sent = fresh(as_office, system) | {"top-max_on_centre_in": "6 ft", "sample": "1"}
    part = as_office.post(address, sent, headers={"HX-Request": "true"})
    assert part.status_code == 200
    assert "<html" not in part.content.decode()
    words = text_of(part.content)
    assert "Posts 15 19 4" in words
    assert "Bays 13 17 4" in words

    wrong = as_office.post(
        address, sent | {"top-height_in": "tall"}, headers={"HX-Request": "true"}
    )
    assert "Height: 'tall' is not a length" in text_of(wrong.content)


def test_a_copy_asks_for_its_names_at_once(as_office: Client, system: FenceSystem) -> None:
    address = f"/price-book/systems/new/?from={system.key}"
    sent = shown(as_office, address)
    assert (sent["name"], sent["key"]) == ("", "")
    answer = as_office.post(address, sent | {"name": "Mine", "key": "mine"})
    assert answer.status_code == 302
    assert FenceSystem.objects.get(key="mine").definition == system.definition


@pytest.mark.parametrize("key", KEYS)
def test_the_page_for_readers_has_no_name_of_the_machine(
    as_office: Client, system: FenceSystem, key: str
) -> None:
    row = FenceSystem.objects.get(key=key)
    page = text_of(as_office.get(f"/price-book/systems/{row.pk}/").content)
    main = page.partition("These figures are the firm's own data")[2]
    assert "Figures Height" in main or "What it is" in main
    assert not re.findall(r"\w+_\w+|[{}\[\]]|\bTrue\b|\bFalse\b|\bNone\b", main)


def test_the_pages_take_few_queries(
    as_office: Client, system: FenceSystem, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    # Session, person, system, items, the firm's units.
    with django_assert_num_queries(5):
        as_office.get(f"/price-book/systems/{system.pk}/")
    # The same and the rates.
    with django_assert_num_queries(6):
        as_office.get(address_of(system))
