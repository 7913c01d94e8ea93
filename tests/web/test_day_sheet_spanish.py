"""Day sheets and load lists in Spanish: who reads them so, and that no English phrase is left."""

import json
import re
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from estimating.engine.estimate import estimate
from estimating.engine.reading import read_catalog, read_site
from estimating.mapping import to_plain
from estimating.models import Estimate
from firm.models import User
from firm.word_files import read_po
from scheduling.models import Crew, CrewMember, FenceJob
from tests.crew_cast import may, put_on
from tests.day_cast import GATE, address, make_job, page_of, read_pdf, setting_day, words
from tests.factories import TODAY
from tests.phrases import ROOT
from tests.sheet_cast import fence_line

pytestmark = [pytest.mark.django_db, pytest.mark.once]
GOLDEN = Path(__file__).parents[1] / "golden"
SITES = ("straight_vinyl", "corner_chain_link", "closed_and_shared")
FIELD = re.compile(r"%\\\(\w+\\\)s|\\\{\w+\\\}")
SHORTEST = 4


@pytest.fixture
def roja(red_crew: Crew) -> Crew:
    red_crew.language = "es"
    red_crew.save()
    return red_crew


def golden_job(name: str) -> FenceJob:
    document = json.loads((GOLDEN / f"{name}.json").read_text())
    parts = ("fence_systems", "prices", "rates", "rules")
    catalog = {key: document[key] for key in parts}
    result = estimate(read_site(document), read_catalog(catalog))
    job = make_job(fence_line(700.5))
    Estimate.objects.filter(proposals=job.proposal_id).update(
        document=document, catalog=catalog, result=to_plain(result)
    )
    return job


def data_of(job: FenceJob) -> list[str]:
    """Return what people typed and what goods are called, which no sheet translates."""
    sold = Estimate.objects.get(proposals=job.proposal_id)
    texts = re.findall(r'"([^"]*)"', json.dumps([sold.document, sold.catalog]))
    named = (job.title, job.customer.name, "Small auger", "Alder & Post Fencing")
    return sorted([*texts, *named], key=len, reverse=True)


def english_left(seen: str, *, data: list[str]) -> set[str]:
    """Return the English phrases in a text, less those that the job's own data holds."""
    for text in data:
        if " " in text:
            seen = seen.replace(text, "")
    found = set()
    for key, said in read_po(ROOT / "locale/es/LC_MESSAGES/django.po").items():
        for phrase in key.split("\x04")[-1].split("\0"):
            plain = re.sub(r"<[^>]+>", "", phrase).replace("%%", "%").strip(" ,.;:")
            figures = re.sub(r"%\(\w+\)s|\{\w+\}|[^A-Za-z]", "", plain)
            if len(figures) < SHORTEST or plain in said:
                continue
            pattern = FIELD.sub(r"\\S+", re.escape(plain))
            if re.search(rf"\b{pattern}\b", seen):
                found.add(phrase)
    return found


class TestWhoReadsIt:
    def test_speaks_the_crews_language(self, as_lead: Client, roja: Crew) -> None:
        job = make_job()
        setting_day(roja, job)
        html = page_of(as_lead, address(roja, job))
        seen = words(html)
        assert '<html lang="es">' in html
        assert "¿Puedo excavar aquí el lun 4 may? SÍ" in seen
        assert "Llame al 811 antes de excavar" in seen
        assert "Solo a mano: poste 3." in seen
        assert "Tramos 1 a 8 (postes 1 a 9): 82-9/16 in" in seen
        assert "Paneles desde miércoles 11:00: la tabla de la empresa dice 48 h a 60 F" in seen

    def test_speaks_a_persons_own_language_before_the_crews(
        self, as_lead: Client, lead: User, roja: Crew
    ) -> None:
        CrewMember.objects.create(crew=roja, name="Own", user=lead, language="en")
        job = make_job()
        setting_day(roja, job)
        assert "May I dig here" in page_of(as_lead, address(roja, job))

    def test_a_link_switches_it_and_its_paper(self, as_lead: Client, roja: Crew) -> None:
        job = make_job()
        setting_day(roja, job)
        where = address(roja, job)
        assert 'href="?lang=en" lang="en"' in page_of(as_lead, where)
        english = page_of(as_lead, f"{where}?lang=en")
        assert "May I dig here" in english
        assert f"{address(roja, job, name='day_sheet_pdf')}?lang=en" in english
        # What was chosen is kept until the log-out, also where the address asks for nonsense.
        assert "May I dig here" in page_of(as_lead, f"{where}?lang=nonsense")
        assert "My days" in page_of(as_lead, reverse("my_days"))
        assert "Mis días" in page_of(as_lead, f"{reverse('my_days')}?lang=es")

    def test_other_crews_keep_english(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job()
        setting_day(red_crew, job)
        assert '<html lang="en">' in page_of(as_lead, address(red_crew, job))

    def test_the_paper_is_spanish_on_one_page(self, as_lead: Client, roja: Crew) -> None:
        job = make_job(fence_line([1200.0, 720.0], gates=[GATE]))
        setting_day(roja, job)
        found, printed = read_pdf(as_lead, address(roja, job, name="day_sheet_pdf"))
        assert len(found.pages) == 1
        assert found.trailer["/Root"]["/Lang"] == "es"  # type: ignore[index]
        assert "No monte antes de: paneles mié 6 may, 11:00" in printed
        assert "página 1 de 1" in printed
        assert english_left(printed, data=data_of(job)) == set()


class TestNoEnglishIsLeft:
    @pytest.mark.parametrize("name", SITES)
    def test_of_any_golden_site(self, name: str, as_lead: Client, roja: Crew) -> None:
        job = golden_job(name)
        setting_day(roja, job)
        put_on(job, "hang", roja, may(8))
        data = data_of(job)
        for day in (TODAY, may(8)):
            seen = words(page_of(as_lead, address(roja, job, day))).split(">", 1)[1]
            assert "Trabajo 1001" in seen
            assert english_left(seen, data=data) == set()

    def test_of_a_load_list(self, as_lead: Client, roja: Crew) -> None:
        job = make_job()
        setting_day(roja, job)
        where = reverse("crew_load", args=[roja.pk, TODAY])
        seen = words(page_of(as_lead, where)).split(">", 1)[1]
        assert "Lista de carga, 4 may" in seen
        assert english_left(seen, data=data_of(job)) == set()
        _, printed = read_pdf(as_lead, reverse("crew_load_pdf", args=[roja.pk, TODAY]))
        assert "Lista de carga: Red crew, lun 4 may 2026" in printed
