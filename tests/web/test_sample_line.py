"""The sample line of a fence system on another ground and with another gate."""

import json
import re
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from estimating.models import FenceSystem
from estimating.services.starter import load_starter_rows

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
