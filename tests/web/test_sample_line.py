"""The sample line of a fence system on another ground and with another gate."""

import json
import re
from itertools import chain
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from estimating.models import FenceSystem
from estimating.services.starter import load_starter_rows
from firm.measure.written import short_length
from firm.models import FirmProfile
from tests.factories import make_firm

pytestmark = pytest.mark.django_db
SAME = "None of these figures changes on this line"


@pytest.fixture
def system() -> FenceSystem:
    load_starter_rows(today=timezone.localdate())
    return FenceSystem.objects.get(key="vinyl_privacy_6ft")


def page_of(client: Client, system: FenceSystem, changes: dict[str, Any], **chosen: str) -> str:
    typed = {
        "name": system.name,
        "key": system.key,
        "is_active": "on",
        "definition_text": json.dumps({**system.definition, **changes}),
        "seen_changed_at": system.changed_at.isoformat(),
        "sample": "1",
    } | {f"sample-{name}": key for name, key in chosen.items()}
    return client.post(f"/price-book/systems/{system.pk}/edit/", typed).content.decode()


def change_of(page: str, name: str) -> str:
    found = re.search(rf'<tr><th scope="row">{name}</th>.*?</tr>', page)
    assert found
    return str(re.findall(r"<td[^>]*>(.*?)</td>", found[0])[2])


def test_what_bears_on_slopes_and_slide_gates_alone_shows_on_them(
    as_owner: Client, system: FenceSystem
) -> None:
    # A bay of 96 in rises 9.6 in at 1 in 10: over a rack of 6 in it steps, under one of 12 in it
    # follows the ground, and the hours of its steps go.
    racks = {"max_rack_in": 12.0}
    assert SAME in page_of(as_owner, system, racks)
    slope = page_of(as_owner, system, racks, ground="slope")
    assert SAME not in slope
    assert change_of(slope, "Labour hours").startswith("-")
    assert '<option value="slope" selected>' in slope

    # Two end stops more, of $22.00 each in the starter's prices: $44.00.
    materials = [
        {**one, "quantity": 4} if one["item"] == "slide_gate_stop" else one
        for one in system.definition["materials"]
    ]
    stops = {"materials": materials}
    assert SAME in page_of(as_owner, system, stops)
    assert change_of(page_of(as_owner, system, stops, gate="slide"), "Material") == "$44.00"
    assert SAME in page_of(as_owner, system, stops, gate="moat", ground="moon")


def rows_of(page: str) -> dict[str, list[str]]:
    rows = re.findall(r'<tr><th scope="row">(.*?)</th>(.*?)</tr>', page)
    return {name: re.findall(r"<td[^>]*>(.*?)</td>", cells) for name, cells in rows}


def test_lengths_gaps_and_posts_stand_before_and_now(as_owner: Client, system: FenceSystem) -> None:
    # A gate of 42 in from 360 in on, posts of 5 in: centres at 357.5 and 404.5 in. Before it four
    # bays of 357.5 / 4 = 89.375 in, behind it of 315.5 / 4 = 78.875 in, and five of 96 in on the
    # other leg; less a post between their faces.
    rows = rows_of(page_of(as_owner, system, {"ground_gap_in": 3.0}))
    assert rows["Bay, post to post"] == ["78-7/8 in to 96 in", "78-7/8 in to 96 in", "0"]
    assert rows["Clear between posts"][1] == "73-7/8 in to 91 in"
    assert rows["Gap under the fence"] == ["2 in", "3 in", "1 in"]
    # 42 in less the gaps at the hinges and the latch.
    gaps = sum(system.definition["gate"][name] for name in ("hinge_gap_in", "latch_gap_in"))
    assert rows["Gate leaf"][1] == short_length(42.0 - gaps, "us")
    # What differs stands above what stays.
    assert list(rows).index("Gap under the fence") < list(rows).index("Gate leaf")


def test_lengths_of_a_sample_line_are_written_as_the_firm_measures(
    as_owner: Client, system: FenceSystem
) -> None:
    make_firm(units=FirmProfile.Units.METRIC)
    rows = rows_of(page_of(as_owner, system, {"ground_gap_in": 3.0}))
    # 2 in = 50.8 mm, 3 in = 76.2 mm, 1 in = 25.4 mm
    assert rows["Gap under the fence"] == ["51 mm", "76 mm", "25 mm"]
    assert not re.search(r"\d in\b", " ".join(chain(*rows.values())))


def test_longer_posts_are_counted_by_kind(as_owner: Client, system: FenceSystem) -> None:
    posts = {**system.definition["posts"]}
    posts["line"] = {**posts["line"], "length_in": 132.0}
    rows = rows_of(page_of(as_owner, system, {"posts": posts}))
    before, now, change = rows["Line posts, long"]
    # 15 posts: two ends, a corner, two gate posts; the ten between them are line posts.
    assert (before, now, change) == ("10 of 108 in", "10 of 132 in", "differs")
    assert rows["Gate posts, long"][2] == "0"


def test_findings_that_come_and_go_stand_in_words(as_owner: Client, system: FenceSystem) -> None:
    page = page_of(as_owner, system, {"max_rack_in": 12.0}, ground="slope")
    # 9.6 in of rise in a bay of 96 in: over a rack of 6 in, under one of 12 in.
    gone = re.findall(r'<span class="badge badge-ok">gone</span>\s*<p[^>]*>(.*?)</p>', page)
    assert any("More than a panel can rack" in each for each in gone)
    back = page_of(as_owner, system, {"max_rack_in": 5.0}, ground="slope")
    assert ">stays</span>" in back
    assert "As before: " in back


@pytest.mark.parametrize(
    ("part", "changes", "row"),
    [
        ("", {"rail_insertion_in": 2.5}, "Rail or panel, long"),
        ("", {"channel_allowance_in": 2.0}, "Pieces to cut"),
        ("hole", {"base_depth_in": 48.0}, "Hole, deep"),
        ("wind", {"leaf_lb_ft2": 5.0}, "Leaf, weight"),
        ("gate", {"latch_gap_in": 2.0}, "Gate leaf"),
    ],
)
def test_what_bears_on_one_figure_alone_shows_there(
    as_owner: Client, system: FenceSystem, part: str, changes: dict[str, float], row: str
) -> None:
    whole = {part: {**system.definition[part], **changes}} if part else changes
    page = page_of(as_owner, system, whole)
    assert SAME not in page
    assert change_of(page, row) != "0"
