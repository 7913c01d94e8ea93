"""A crew lead who reads Spanish meets no English sentence on any page within reach."""

import json
import re
from collections.abc import Callable
from functools import partial
from html import unescape
from io import BytesIO
from typing import Any

import pytest
from django.contrib.auth.tokens import default_token_generator
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from pypdf import PdfReader

from estimating.models import Estimate
from firm.models import User
from firm.views import sites
from scheduling.models import (
    Crew,
    CrewMember,
    DayReport,
    FenceJob,
    HoursWorked,
    PostRecord,
    PunchItem,
)
from scheduling.selectors.crew_languages import language_of
from tests.crew_cast import may, put_on
from tests.day_cast import make_job, setting_day
from tests.english_left import left_in_english, spoken_both_ways
from tests.factories import NOW, TODAY
from tests.firm_cast import make_jurisdiction
from tests.job_cast import DAY

pytestmark = [pytest.mark.django_db, pytest.mark.once]
# What no page translates: names, addresses, the words of the office and of what was sold.
DATA = (
    "Firm Footing",
    "Crew lead",
    "Red crew",
    "Ada Quill",
    "Customer 1001",
    "1001 Larch Court",
    "Troy",
    "Small auger",
    "Muddy",
    "Cable",
    "Caps",
    "box of 100",
    "Cap loose",
    "Latch drags",
    "Dunmere",
    "Past the barn, then left",
    "One, friendly",
    "Alder & Post Fencing",
    "English",
    "Español",
)
# Words that are the same in both.
SAME = {"gas", "Material", "min"}


@pytest.fixture
def roja(red_crew: Crew) -> Crew:
    red_crew.language = "es"
    red_crew.save()
    return red_crew


@pytest.fixture
def job(roja: Crew) -> FenceJob:
    """Return a job that is set today, hung on Friday, and was begun without hours on Friday."""
    job = make_job()
    setting_day(roja, job)
    put_on(job, "hang", roja, may(8))
    put_on(job, "layout", roja, may(1))
    return job


def report_on(job: FenceJob, crew: Crew) -> None:
    """Let a day be reported with all there is to it, and something left to be put right."""
    report = DayReport.objects.create(
        job=job,
        crew=crew,
        date=may(1),
        bags_used=4,
        poured_at=NOW - 3 * DAY,
        mix="standard",
        remarks="Muddy",
        extra_work="Cable",
        needed_next="Caps",
        reported_at=NOW,
    )
    HoursWorked.objects.create(
        report=report,
        member=crew.members.all()[0],
        phase=job.phases.get(kind="layout"),
        started="07:00",
        ended="12:00",
        break_min=30,
        hourly_cost=40,
    )
    PostRecord.objects.create(
        job=job, number=2, report=report, set_at=NOW - 3 * DAY, recorded_at=NOW
    )
    PostRecord.objects.create(
        job=job, number=4, report=report, met_rock=True, rock_depth_in=20, recorded_at=NOW
    )
    PunchItem.objects.create(job=job, text="Cap loose", post_number=4, added_at=NOW)
    done = {"done_at": NOW, "added_at": NOW}
    PunchItem.objects.create(job=job, text="Latch drags", **done)
    job.phases.filter(kind="layout").update(finished_on=may(1))
    job.phases.filter(kind="hang").update(needs_material=True, material_promised_on=may(7))
    assert job.site is not None
    job.site.clearances.filter(kind="permit").update(state="asked", expires_on=may(2))


def data_of(job: FenceJob) -> tuple[str, ...]:
    """Return what people typed, and what goods are called in the price book."""
    sold = Estimate.objects.get(proposals=job.proposal_id)
    goods = re.findall(r'"name": "([^"]+)"', json.dumps([sold.catalog, sold.result]))
    return (*DATA, job.title, job.customer.name, *(each for each in goods if " " in each))


class TestWhoSpeaks:
    def test_own_words_come_before_the_crews_and_the_first_crew_before_others(
        self, lead: User, roja: Crew
    ) -> None:
        assert language_of(lead) == "es"
        CrewMember.objects.create(crew=roja, name="Own", user=lead, language="en")
        assert language_of(lead) == "en"
        assert language_of(lead, asked="es") == "es"
        other = Crew.objects.create(name="Amber crew", lead=lead, language="es")
        assert language_of(lead, crew=other.pk) == "es"
        assert language_of(lead, crew=roja.pk) == language_of(lead) == "en"

    def test_one_who_left_reads_english_as_does_the_office(
        self, as_lead: Client, lead: User, roja: Crew, as_office: Client
    ) -> None:
        assert "Mis días" in as_lead.get(reverse("my_days")).content.decode()
        assert "Crews' days" in as_office.get(reverse("my_days"), {"lang": "es"}).content.decode()
        roja.lead = None
        roja.save()
        CrewMember.objects.create(crew=roja, name="Gone", user=lead, is_active=False)
        html = as_lead.get(reverse("my_days")).content.decode()
        assert '<html lang="en">' in html
        assert "My days" in html

    def test_refusals_of_the_whole_page_are_said_too(self, as_lead: Client, roja: Crew) -> None:
        no_page = as_lead.get("/nowhere/")
        assert no_page.status_code == 404
        assert "No hay nada en esta dirección" in no_page.content.decode()
        no_row = as_lead.get(reverse("day", args=[roja.pk + 77, TODAY]))
        assert "No hay nada en esta dirección" in no_row.content.decode()
        not_theirs = as_lead.get(reverse("buying"))
        assert not_theirs.status_code == 403
        assert "Esta página no es para su usuario" in not_theirs.content.decode()


class TestAtTheDoor:
    def test_log_in_page_speaks_what_the_browser_asks_for(
        self, client: Client, owner: User, lead: User
    ) -> None:
        where, spanish = reverse("login"), {"Accept-Language": "es-US,es;q=0.9,en;q=0.5"}
        asks: list[Callable[..., Any]] = [
            partial(client.get, where),
            partial(client.post, where, {"username": lead.username, "password": "wrong"}),
        ]
        for ask in asks:
            english, other = (
                ask(headers=headers).content.decode()
                for headers in ({"Accept-Language": "de, en-GB"}, spanish)
            )
            assert '<html lang="en">' in english
            assert '<html lang="es">' in other
            assert left_in_english(english, other, data=DATA) == set()
        assert "Ese nombre y esa contraseña no van juntos" in other

    def test_forgotten_password_pages_speak_it_too(self, client: Client, lead: User) -> None:
        spanish = {"Accept-Language": "es-US,es;q=0.9,en;q=0.5"}
        who = urlsafe_base64_encode(force_bytes(lead.pk))
        token = default_token_generator.make_token(lead)
        dead = reverse("password_reset_confirm", args=[who, "abc-def"])
        choose = client.get(reverse("password_reset_confirm", args=[who, token])).headers[
            "Location"
        ]
        forgotten = reverse("password_reset")
        pairs = (("password12", "password12"), ("123", "123"), (lead.username, lead.username))
        asks: list[Callable[..., Any]] = [
            partial(client.get, forgotten),
            partial(client.post, forgotten, {"email": "nobody"}),
            partial(client.post, forgotten, {}),
            partial(client.get, reverse("password_reset_done")),
            partial(client.get, dead),
            partial(client.get, choose),
            *(
                partial(client.post, choose, {"new_password1": one, "new_password2": two})
                for one, two in (*pairs, ("a", "b"))
            ),
        ]
        for ask in asks:
            english, other = (
                ask(headers=headers).content.decode()
                for headers in ({"Accept-Language": "en"}, spanish)
            )
            assert '<html lang="es">' in other
            assert left_in_english(english, other, data=DATA) == set()
        good = {"new_password1": "wide open meadow", "new_password2": "wide open meadow"}
        html = client.post(choose, good, headers=spanish, follow=True).content.decode()
        assert "La contraseña nueva ya vale." in html

    def test_page_of_a_fault_speaks_both(self) -> None:
        html = render_to_string("500.html")
        assert "Something went wrong on our side" in html
        assert '<div class="card" lang="es"><h2>Algo falló de nuestro lado</h2>' in html


class TestNoEnglishIsLeft:
    @pytest.mark.parametrize("name", ["my_days", "day", "day_report", "job_leftovers", "crew_load"])
    def test_on_a_page(self, name: str, as_lead: Client, roja: Crew, job: FenceJob) -> None:
        arguments: dict[str, list[Any]] = {
            "my_days": [],
            "day": [roja.pk, TODAY],
            "day_report": [roja.pk, TODAY, job.pk],
            "crew_load": [roja.pk, TODAY],
        }
        where = reverse(name, args=arguments.get(name, [job.pk]))
        english, spanish = spoken_both_ways(lambda: as_lead.get(where), as_lead)
        assert '<html lang="es">' in spanish
        assert left_in_english(english, spanish, data=data_of(job)) <= SAME

    @pytest.mark.parametrize(
        "name",
        ["jobs", "job", "job_timeline", "job_finish", "sites", "site", "calendar_feeds", "ground"],
    )
    def test_on_a_page_of_a_job_that_goes_on(
        self, name: str, as_lead: Client, roja: Crew, job: FenceJob
    ) -> None:
        report_on(job, roja)
        about = {"site": job.site_id, "sites": None, "jobs": None, "calendar_feeds": None}
        key = about.get(name, job.pk)
        where = reverse(name, args=[key] if key else [])
        english, spanish = spoken_both_ways(lambda: as_lead.get(where), as_lead)
        assert '<html lang="es">' in spanish
        if name == "job_finish":
            # What the customer signs stays in the language of the contract.
            spanish = re.sub(r'<div class="statement">.*?</div>', "", spanish, flags=re.DOTALL)
        assert left_in_english(english, spanish, data=data_of(job)) <= SAME

    @pytest.mark.parametrize("is_known", [True, False])
    def test_on_a_blank_measure_sheet(
        self,
        is_known: bool,
        as_lead: Client,
        roja: Crew,
        job: FenceJob,
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        site = job.site
        assert site is not None
        if is_known:
            site.jurisdiction = make_jurisdiction(setback_in=4, height_limit_front_in=42)
            site.access = "Past the barn, then left, mind the step and the new lawn. " * 3
            site.dog = "Biscuit, friendly, but keep the gate closed because he runs to the brook"
        else:
            site.gate_code = site.dog = site.access = ""
        site.save()
        where = reverse("site_measure_sheet", args=[site.pk])
        (page,) = PdfReader(BytesIO(as_lead.get(where, {"lang": "es"}).content)).pages
        assert "Hoja de medidas" in page.extract_text()
        monkeypatch.setattr(sites, "render_pdf", str.encode)
        english, spanish = spoken_both_ways(partial(as_lead.get, where), as_lead)
        assert '<html lang="es">' in spanish
        typed = (*data_of(job), "Town of Dunmere", site.access[:119], site.dog)
        assert left_in_english(english, spanish, data=typed) <= SAME
        assert re.findall(r'content: "([^"]+)"', english) != re.findall(
            r'content: "([^"]+)"', spanish
        )

    def test_on_empty_lists(self, as_lead: Client, roja: Crew) -> None:
        day = reverse("day", args=[roja.pk, TODAY])
        lists = (reverse("my_days"), day, reverse("jobs"), reverse("sites"))
        for where in (*lists, f"{reverse('sites')}?q=zzz"):
            english, spanish = spoken_both_ways(partial(as_lead.get, where), as_lead)
            assert left_in_english(english, spanish, data=DATA) == set()

    def test_in_what_refuses_a_report(self, as_lead: Client, roja: Crew, job: FenceJob) -> None:
        where = reverse("day_report", args=[roja.pk, TODAY, job.pk])
        member = roja.members.get(is_active=True).pk
        values = {
            "posts": ["1", "77"],
            "was_set": "",
            "bags_used": "many",
            "pour_time": "25:00",
            "air_f": "900",
            "mix": "standard",
            "everyone_break": "-1",
            "photo_subject": "other",
            "photo_post": "0",
            "remarks": "<b>",
            "hours-TOTAL_FORMS": 2,
            "hours-INITIAL_FORMS": 0,
            "hours-0-member": member,
            "hours-0-started": "12:00",
            "hours-0-ended": "09:00",
            "hours-1-ended": "09:00",
            "rock-TOTAL_FORMS": 2,
            "rock-INITIAL_FORMS": 0,
            "rock-0-post_number": "99",
            "rock-1-depth_in": "5-1/2",
        }
        english, spanish = spoken_both_ways(lambda: as_lead.post(where, values), as_lead)
        assert english.count("errorlist") > 9
        assert "Todavía no se guardó" in spanish
        assert "La salida debe ser después de las 12:00" in spanish
        assert left_in_english(english, spanish, data=data_of(job)) <= SAME

    def test_in_what_the_ground_changes(self, as_lead: Client, roja: Crew, job: FenceJob) -> None:
        where = reverse("ground", args=[job.pk])
        html = as_lead.get(where).content.decode()
        hidden = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', html)
        values = {name: unescape(value) for name, value in hidden} | {"line0_leg0": "60 ft"}
        shorter, nonsense = values | {"look": "yes"}, values | {"line0_leg0": "x", "look": "yes"}
        for asked in (shorter, nonsense):
            english, spanish = spoken_both_ways(partial(as_lead.post, where, asked), as_lead)
            assert left_in_english(english, spanish, data=data_of(job)) <= SAME
        assert "Lo que cambia" in as_lead.post(where, shorter).content.decode()

    def test_in_what_a_tick_answers(self, as_lead: Client, roja: Crew, job: FenceJob) -> None:
        where = reverse("report_posts", args=[roja.pk, TODAY, job.pk])
        for values in ({"number": "77", "posts": "77"}, {"number": "2", "posts": "2"}):
            english, spanish = spoken_both_ways(partial(as_lead.post, where, values), as_lead)
            assert left_in_english(english, spanish, data=DATA) == set()
        assert re.search(r"<strong>1 de 9 colocados\.</strong>\s+Faltan:", spanish)

    def test_in_what_refuses_a_load(self, as_lead: Client, roja: Crew, job: FenceJob) -> None:
        where = reverse("crew_load", args=[roja.pk, TODAY])
        asks: list[Callable[[], Any]] = [
            lambda: as_lead.post(where, {}),
            lambda: as_lead.get(where, {"last": "2026-01-01"}),
            lambda: as_lead.get(where, {"last": "2027-04-04"}),
        ]
        for ask in asks:
            english, spanish = spoken_both_ways(ask, as_lead)
            assert "errorlist" in english or "notice-error" in english
            assert left_in_english(english, spanish, data=data_of(job)) <= SAME

    def test_in_how_a_length_is_read(self, as_lead: Client, roja: Crew) -> None:
        for text in ("5-1/2", "x", "1,5", "-1", "-3 ft 14 in"):
            where = reverse("length_reading")
            english, spanish = spoken_both_ways(
                partial(as_lead.get, where, {"text": text}), as_lead
            )
            assert english != spanish
            assert not re.search(r"\bor\b", spanish)
