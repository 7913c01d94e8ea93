"""A crew's papers: everything of a day in one file, and its week on a sheet."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from scheduling.models import Crew
from tests.crew_cast import may, put_on
from tests.day_cast import make_job, read_pdf, setting_day
from tests.factories import TODAY

pytestmark = [pytest.mark.django_db, pytest.mark.once]


def day_papers(crew: Crew, on: dt.date = TODAY) -> str:
    return reverse("day_papers", args=[crew.pk, on])


def week_paper(crew: Crew, on: dt.date = TODAY) -> str:
    return reverse("week_paper", args=[crew.pk, on])


class TestDayInOneFile:
    def test_holds_the_load_list_and_each_sheet_from_a_page_of_its_own(
        self, as_lead: Client, red_crew: Crew
    ) -> None:
        setting_day(red_crew, make_job())
        put_on(make_job(number=1002), "hang", red_crew, TODAY, hours="2")
        found, _ = read_pdf(as_lead, day_papers(red_crew))
        pages = [" ".join(page.extract_text().split()) for page in found.pages]
        assert len(pages) == 3
        assert pages[0].startswith("Load list: Red crew, Mon May 4, 2026")
        assert pages[1].startswith("Job 1001, Mon May 4, 2026")
        assert pages[2].startswith("Job 1002, Mon May 4, 2026")
        # Each paper counts its own pages, so that one of them can be handed on alone.
        assert all("page 1 of 1" in page for page in pages)

    def test_is_tagged_from_its_first_page_to_its_last(
        self, as_lead: Client, red_crew: Crew
    ) -> None:
        setting_day(red_crew, make_job())
        found, _ = read_pdf(as_lead, day_papers(red_crew))
        # ISO 14289-1 (PDF/UA-1), 7.1: all content stands in the tree of tags.
        assert "/StructTreeRoot" in found.root_object
        assert all("/StructParents" in page for page in found.pages)

    def test_is_written_in_the_language_that_is_asked_for(
        self, as_lead: Client, red_crew: Crew
    ) -> None:
        setting_day(red_crew, make_job())
        found, printed = read_pdf(as_lead, f"{day_papers(red_crew)}?lang=es")
        assert str(found.root_object["/Lang"]) == "es"
        assert "Lista de carga" in printed
        assert "¿Puedo excavar aquí" in printed

    def test_day_without_work_and_another_crew_s_day_are_not_found(
        self, as_lead: Client, red_crew: Crew
    ) -> None:
        blue_crew = Crew.objects.create(name="Blue crew")
        setting_day(blue_crew, make_job())
        assert as_lead.get(day_papers(red_crew)).status_code == 404
        assert as_lead.get(day_papers(blue_crew)).status_code == 404
        assert as_lead.get(week_paper(blue_crew)).status_code == 404


class TestWeekOnPaper:
    def test_tells_each_day_what_is_done_where_and_whether_it_is_cleared(
        self, as_lead: Client, red_crew: Crew
    ) -> None:
        job = make_job()
        setting_day(red_crew, job)
        put_on(job, "hang", red_crew, may(5))
        found, printed = read_pdf(as_lead, week_paper(red_crew))
        assert len(found.pages) == 1
        assert "Week of Red crew: Mon May 4 to Sun May 10, 2026" in printed
        monday, rest = printed.split("Tuesday, May 5")
        assert "07:00 to 13:00 Job 1001, Customer 1001, 1001 Larch Court" in monday
        # 9 posts and 36 bags of concrete, as on the day sheet.
        assert "9 posts in all, 36 bags of Concrete mix, 80 lb bag" in monday
        assert "Dig: YES" in monday
        assert "By hand only: post 3." in monday
        # Poured on Monday at 11:00 and 48 h to wait: on Tuesday no panel hangs.
        assert "TOO EARLY TODAY: hang" in rest
        assert "panels Wed May 6, 11:00" in rest
        assert "Sunday, May 10 Nothing on the calendar." in rest

    def test_asks_for_each_day_what_its_sheet_asks(
        self,
        as_lead: Client,
        red_crew: Crew,
        django_assert_num_queries: DjangoAssertNumQueries,
    ) -> None:
        job = make_job()
        for day in (4, 5, 6, 7, 8):
            put_on(job, "dig", red_crew, may(day), hours="2")
        # 9 for the person, the crew and its days, 9 for each day's sheet.
        with django_assert_num_queries(9 + 5 * 9):
            as_lead.get(week_paper(red_crew))
