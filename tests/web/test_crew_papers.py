"""A crew's papers: everything of a day in one file, and its week on a sheet."""

import datetime as dt
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader
from pytest_django import DjangoAssertNumQueries

from firm.models import User
from scheduling.models import Crew, DayReport, PostRecord
from scheduling.services.crew_papers import week_paper_pdf
from tests.crew_cast import may, put_on, rains
from tests.day_cast import make_job, read_pdf, setting_day
from tests.factories import NOW, TODAY

pytestmark = [pytest.mark.django_db, pytest.mark.once]


def day_papers(crew: Crew, on: dt.date = TODAY) -> str:
    return reverse("day_papers", args=[crew.pk, on])


def week_paper(crew: Crew, on: dt.date = TODAY) -> str:
    return reverse("week_paper", args=[crew.pk, on])


def week_as_of_monday(person: User, crew: Crew) -> str:
    found = PdfReader(BytesIO(week_paper_pdf(person, crew=crew, first=TODAY, now=NOW)))
    return " ".join(" ".join(page.extract_text() for page in found.pages).split())


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
        # 12 for the person, the crew, its days, their rain and posts, 11 for each day's sheet.
        with django_assert_num_queries(12 + 5 * 11):
            as_lead.get(week_paper(red_crew))

    def test_gives_each_day_of_a_long_pour_its_own_posts(self, lead: User, red_crew: Crew) -> None:
        # 9 posts and 36 bags over 4 + 4 + 1 hours: 4, 4 and 1 posts with 16, 16 and 4 bags.
        job = make_job()
        for day, hours in ((4, "4"), (5, "4"), (6, "1")):
            put_on(job, "set", red_crew, may(day), hours=hours)
        printed = week_as_of_monday(lead, red_crew)
        monday, rest = printed.split("Tuesday, May 5")
        tuesday, wednesday = rest.split("Wednesday, May 6")
        assert "about 4 of 9 posts, 16 bags of Concrete mix, 80 lb bag" in monday
        assert "about 4 of 9 posts, 16 bags of Concrete mix, 80 lb bag" in tuesday
        assert "about 1 of 9 posts, 4 bags of Concrete mix, 80 lb bag" in wednesday
        assert "in all" not in printed

    def test_shares_out_only_the_posts_that_do_not_stand(self, lead: User, red_crew: Crew) -> None:
        # Posts 1 to 3 stand since Sunday; 6 are left for 2 + 1 hours: 4 and 2, of 24 bags 16 and 8.
        job = make_job()
        put_on(job, "set", red_crew, may(3), hours="4")
        report = DayReport.objects.create(job=job, crew=red_crew, date=may(3), reported_at=NOW)
        PostRecord.objects.bulk_create(
            PostRecord(job=job, number=number, report=report, set_at=NOW, recorded_at=NOW)
            for number in (1, 2, 3)
        )
        put_on(job, "set", red_crew, may(4), hours="2")
        put_on(job, "set", red_crew, may(5), hours="1")
        printed = week_as_of_monday(lead, red_crew)
        assert "about 4 of 9 posts, 16 bags" in printed
        assert "about 2 of 9 posts, 8 bags" in printed

    def test_digging_alone_is_shared_out_by_its_own_hours(self, lead: User, red_crew: Crew) -> None:
        # 9 holes over 2 + 1 hours: 6 and 3; no concrete comes with them.
        job = make_job()
        put_on(job, "dig", red_crew, may(4), hours="2")
        put_on(job, "dig", red_crew, may(5), hours="1")
        printed = week_as_of_monday(lead, red_crew)
        assert "about 6 of 9 posts" in printed
        assert "about 3 of 9 posts" in printed
        assert "bags" not in printed

    def test_names_what_the_rain_of_a_day_bars(self, as_lead: Client, red_crew: Crew) -> None:
        setting_day(red_crew, make_job())
        rains(may(4), 0.3)
        _, printed = read_pdf(as_lead, week_paper(red_crew))
        assert "Rain, 0.3 in, is written down for this day." in printed
        assert "Not in that much rain: setting posts, concrete." in printed
