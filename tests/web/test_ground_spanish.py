"""A crew lead who reads Spanish meets no English in what is found on the ground, or refused."""

import re
from functools import partial
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from firm.models import User
from scheduling.models import Crew, CrewDay, DayReport, FenceJob, PostRecord
from tests.crew_cast import give_to_crew_of
from tests.english_left import left_in_english, spoken_both_ways
from tests.factories import NOW, make_firm
from tests.ground_cast import ground_document, make_ground_job

pytestmark = [pytest.mark.django_db, pytest.mark.once]
# What people typed, and what the price book calls goods.
DATA = (
    "Firm Footing",
    "Back line",
    "Side line",
    "Ada Quill",
    "Crew lead",
    "4 Larch Court",
    "Dunmere",
    "English",
    "Español",
)
INPUT = re.compile(r'<input type="(\w+)" name="([^"]+)"(?: value="([^"]*)")?([^>]*)>')
GATE = {"id": "G1", "station_in": 300.0, "clear_opening_in": 48.0}
Changes = dict[str, str | None]
MARK_AT_THE_END: Changes = {"line0_mark0_station": "29-11", "line0_mark0_hand": None}


@pytest.fixture
def job(lead: User) -> FenceJob:
    make_firm()
    return spanish_job(lead)


def spanish_job(lead: User, **changes: Any) -> FenceJob:
    job = make_ground_job(document=ground_document(**changes))
    give_to_crew_of(lead, job)
    Crew.objects.filter(lead=lead).update(language="es")
    return job


def as_shown(html: str) -> dict[str, str]:
    """Return the form as the page shows it."""
    return {
        name: "on" if kind == "checkbox" else unescape(value)
        for kind, name, value, rest in INPUT.findall(html)
        if kind != "checkbox" or "checked" in rest
    }


def left(client: Client, job: FenceJob, changes: Changes, *, act: str = "look") -> set[str]:
    """Return what both pages say, and see that the answer says what the page did not before."""
    where = reverse("ground", args=[job.pk])
    page = client.get(where, {"lang": "en"}).content.decode()
    values = as_shown(page) | changes | {act: "yes"}
    sent = {name: value for name, value in values.items() if value is not None}
    english, spanish = spoken_both_ways(partial(client.post, where, sent), client)
    assert '<html lang="es">' in spanish
    assert "errorlist" in english or "notice-error" in english or "found-head" in english
    data = (*DATA, job.title, job.customer.name, "Vinyl privacy 6 ft", "gas", "water")
    return left_in_english(english, spanish, data=data)


class TestNoEnglishIsLeft:
    @pytest.mark.parametrize(
        ("changes", "said"),
        [
            ({"post7": "7-11"}, "Move a post back, or ask the office for a post more."),
            ({"post7": "0-6"}, "Divide the section into equal bays"),
            ({"post7": "0-3"}, "let one post do for both"),
            ({"post3": "12-6"}, "part the line at the mark"),
            ({"post3": "14-6"}, "tolerance zone of the gas mark"),
            (MARK_AT_THE_END, "to clear the mark, "),
            (MARK_AT_THE_END | {"line0_mark0_station": "28-0"}, "move it towards the line"),
            (MARK_AT_THE_END | {"line0_mark0_utility": ""}, "The hole of post 5 reaches"),
        ],
    )
    def test_in_a_finding(
        self, as_lead: Client, job: FenceJob, changes: Changes, said: str
    ) -> None:
        assert left(as_lead, job, changes) == set()
        assert said in english_page(as_lead, job, changes)

    def test_in_a_gate_that_moves_with_its_posts(self, as_lead: Client, lead: User) -> None:
        make_firm()
        job = spanish_job(lead, gates=[GATE | {"station_in": 200.0}])
        changes: Changes = {"line0_mark0_station": "16-8", "line0_mark0_hand": None}
        assert left(as_lead, job, changes) == set()
        assert "move it with its gate" in english_page(as_lead, job, changes)

    @pytest.mark.parametrize(
        ("changes", "said"),
        [
            ({"post2": "15-0"}, "at or past post 3 at 15-0"),
            ({"based_on": "7"}, "Someone else has saved version 0"),
            ({"line0_leg0": "33-0", "post3": "15-4"}, "the posts are numbered anew"),
            ({"line0_mark1_utility": "water"}, "Where does this mark cross"),
            ({"line0_mark0_angle": "200"}, "less than or equal to 180"),
            ({"line0_shown": "[[1, 0.0]]", "post1": "0-3"}, "an end post"),
        ],
    )
    def test_in_a_refusal(
        self, as_lead: Client, job: FenceJob, changes: Changes, said: str
    ) -> None:
        assert left(as_lead, job, changes) == set()
        assert said in english_page(as_lead, job, changes)

    @pytest.mark.parametrize(
        ("leg", "said"),
        [
            ("20-0", "past the line's end at 20-0"),
            ("27-0", "no longer fits line A"),
            ("3-0", "longer than any leg of its line"),
        ],
    )
    def test_where_a_gate_no_longer_fits(
        self, as_lead: Client, lead: User, leg: str, said: str
    ) -> None:
        make_firm()
        job = spanish_job(lead, gates=[GATE])
        assert left(as_lead, job, {"line0_leg0": leg}) == set()
        assert said in english_page(as_lead, job, {"line0_leg0": leg})

    def test_where_nothing_differs_or_a_post_is_set(self, as_lead: Client, job: FenceJob) -> None:
        assert left(as_lead, job, {}, act="save") == set()
        crew_day = CrewDay.objects.get()
        report = DayReport.objects.create(
            job=job, crew=crew_day.crew, date=crew_day.date, reported_at=NOW
        )
        PostRecord.objects.create(job=job, number=3, report=report, set_at=NOW, recorded_at=NOW)
        assert left(as_lead, job, {"post3": "15-4"}, act="save") == set()


def english_page(client: Client, job: FenceJob, changes: Changes) -> str:
    """Return what the same entries say in English, to know that they say what they are for."""
    where = reverse("ground", args=[job.pk])
    values = as_shown(client.get(where, {"lang": "en"}).content.decode()) | changes
    sent = {name: value for name, value in values.items() if value is not None} | {"look": "yes"}
    return unescape(client.post(where, sent).content.decode())
