"""Every figure that the engine knows of a fence system has a field on its page."""

import copy
import dataclasses
import re
from collections.abc import Iterator
from typing import Any, get_args, get_type_hints

import pytest
from django.test import Client
from django.utils import timezone

from estimating.engine import catalog, wind
from estimating.forms.system_form import SystemForm
from estimating.models import FenceSystem
from estimating.services.starter import load_starter_rows
from tests.factories import make_firm
from tests.web.system_pages import address_of, fresh, put, shown, text_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]

# Figures that stand in the text alone, each with the reason: none.
TEXT_ONLY: dict[str, str] = {}
# Where a mapping's or a list's first entry stands in the form.
FIRST_OF = {
    "posts": "end",
    "materials": "0",
    "heavier_posts": "0",
    "other_lengths": "0",
    "displaces": "wet_set",
    "labor": "set_line",
}


@pytest.fixture
def system() -> FenceSystem:
    load_starter_rows(today=timezone.localdate())
    return FenceSystem.objects.get(key="vinyl_privacy_6ft")


def held(hint: Any) -> type | None:
    """Return the dataclass that a type names: by itself, in a mapping, a tuple or with None."""
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        return hint
    return next((found for each in get_args(hint) if (found := held(each))), None)


def places(kind: type, start: str = "") -> Iterator[str]:
    """Yield where each figure of a dataclass stands in the form, and of all that it holds."""
    for name, hint in get_type_hints(kind).items():
        place = "-".join(filter(None, (start, name, FIRST_OF.get(name))))
        inner = held(hint)
        if inner is wind.Screen:  # the data has it flat
            yield from places(inner, start)
        elif inner:
            yield from places(inner, place)
        else:
            yield place


def test_every_figure_of_the_engine_has_a_field(system: FenceSystem) -> None:
    form = SystemForm(base=system.definition, names={}, rates=set())
    named = {name.removeprefix("top-") for name in form.fields}
    asked = list(places(catalog.FenceSystem))
    assert len(asked) > 100  # the walk goes down into posts, gates, items and strengths
    assert {"gate-slide-post-displaces-wet_set", "wind-posts-end-insert"} <= set(asked)
    assert [each for each in asked if each not in named] == list(TEXT_ONLY)


# Material 2 is the rail, 1 the stiffener of a gate post.
CHANGES: list[tuple[str, str, tuple[Any, ...], Any]] = [
    ("posts-line-shape", "round", ("posts", "line", "shape"), "round"),
    ("posts-line-wall_in", "0.135", ("posts", "line", "wall_in"), 0.135),
    ("posts-line-setting", "pour_around", ("posts", "line", "setting"), "pour_around"),
    ("posts-line-displaces-wet_set", "wall", ("posts", "line", "displaces", "wet_set"), "wall"),
    ("gate-slide-post-shape", "square", ("gate", "slide", "post", "shape"), "square"),
    ("gate-heavier_posts-0-post-displaces-dry_pack", "solid",
     ("gate", "heavier_posts", 0, "post", "displaces", "dry_pack"), "solid"),
    ("materials-1-section_in2", "0.75", ("materials", 1, "section_in2"), 0.75),
    ("materials-2-cut", "end_bay", ("materials", 2, "cut"), "end_bay"),
    ("materials-2-other_lengths-1", "Vinyl ranch rail 8 ft", ("materials", 2, "other_lengths"),
     ["vinyl_rail_privacy_16ft", "vinyl_ranch_rail_8ft"]),
    ("materials-2-kerf_in", "1/4 in", ("materials", 2, "kerf_in"), 0.25),
    ("materials-2-extra_ft", "1.5", ("materials", 2, "extra_ft"), 1.5),
    ("materials-2-offcut_serves", "True", ("materials", 2, "offcut_serves"), True),
    ("materials-2-hung", "True", ("materials", 2, "hung"), True),
    ("materials-2-infill", "True", ("materials", 2, "infill"), True),
    ("materials-3-stiffens", "", ("materials", 3), {
        "item": "vinyl_rail_stiffener", "driver": "bay", "cut": "bay_rail"}),
    ("barrier-infill", "pickets", ("barrier", "infill"), "pickets"),
    ("barrier-opening_in", "2 1/2 in", ("barrier", "opening_in"), 2.5),
    ("barrier-rails_apart_in", "4 ft", ("barrier", "rails_apart_in"), 48),
    ("barrier-rails_show", "back", ("barrier", "rails_show"), "back"),
]  # fmt: skip


def test_cuts_posts_and_the_pool_barrier_have_fields(
    as_office: Client, system: FenceSystem
) -> None:
    expected = copy.deepcopy(system.definition)
    for _, _, path, kept in CHANGES:
        put(expected, path, kept)
    typed = {name: text for name, text, _, _ in CHANGES}
    address = address_of(system)
    assert as_office.post(address, fresh(as_office, system) | typed).status_code == 302
    system.refresh_from_db()
    assert system.definition == expected

    emptied = {"materials-2-other_lengths-0": "", "materials-2-other_lengths-1": ""}
    emptied |= {"barrier-infill": "", "posts-line-setting": "", "materials-2-hung": "False"}
    sent = shown(as_office, address) | emptied
    assert as_office.post(address, sent).status_code == 302
    system.refresh_from_db()
    del expected["materials"][2]["other_lengths"], expected["materials"][2]["hung"]
    del expected["barrier"], expected["posts"]["line"]["setting"]
    assert system.definition == expected


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"materials-2-other_lengths-1": "Golden rail"}, "has no item &#x27;Golden rail&#x27;"),
        ({"materials-2-cut": "piece"}, None),
        ({"posts-line-wall_in": "thin"}, "Type a number; alone it is in inches"),
        ({"materials-2-kerf_in": "2 ft"}, "This must be 12 in or less"),
    ],
)
def test_what_is_wrong_is_told_at_its_field(
    as_office: Client, system: FenceSystem, changes: dict[str, str], told: str | None
) -> None:
    answer = as_office.post(address_of(system), fresh(as_office, system) | changes)
    assert answer.status_code == 422
    name = next(iter(changes))
    if told is None:  # pieces need a length, which is another field
        name, told = "materials-2-piece_in", "is missing: the length of one piece"
    place = answer.content.decode().partition(f'id="id_{name}_error"')[2][:200]
    assert told in place


def test_readers_see_heavier_posts_and_how_strong_posts_are(
    as_office: Client, system: FenceSystem
) -> None:
    address = f"/price-book/systems/{system.pk}/"
    page = text_of(as_office.get(address).content)
    posts, heavier, material = re.split("Heavier gate posts|Material Item", page)[:3]
    assert posts.count("Vinyl, not rated") == 5
    # 3.472 in3 and 46,000 psi: the starter data of the 4 x 4 tube inside the vinyl.
    assert "Steel core: leaves up to 96 in and 250 lb" in heavier
    assert "stiffener: its full depth, its section modulus 3.472 in\u00b3" in heavier
    assert "its yield 46,000 psi" in heavier
    assert "16 in, 42 in deep or more" in heavier
    assert "A slide gate's rollers" in heavier
    assert "cut: to span each bay; or from Vinyl privacy rail 16 ft" in material
    make_firm(units="metric")
    page = text_of(as_office.get(address).content)
    # 250 x 0.45359237 = 113.398 kg; 3.472 x 16.387064 = 56.896 cm3; 46 x 6.894757 = 317.159 MPa
    for words in ("2438 mm and 113.4 kg", "modulus 56.9 cm\u00b3", "yield 317.16 MPa"):
        assert words in page


def test_a_system_that_is_judged_by_nothing_is_saved_as_it_is(
    as_office: Client, system: FenceSystem
) -> None:
    for part in ("wind", "barrier"):
        del system.definition[part]
    del system.definition["gate"]["slide"]
    system.save()
    before = copy.deepcopy(system.definition)
    address = address_of(system)
    assert as_office.post(address, shown(as_office, address)).status_code == 302
    system.refresh_from_db()
    assert system.definition == before
