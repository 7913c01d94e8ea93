"""The printed day sheet: one page for a usual job, which answers a crew lead's questions."""

from typing import Any, cast

import pytest
from django.test import Client

from scheduling.models import Crew
from tests.crew_cast import may, put_on
from tests.day_cast import GAS, GATE, address, make_job, read_pdf, setting_day
from tests.sheet_cast import fence_line

pytestmark = [pytest.mark.django_db, pytest.mark.once]


class TestPrintedSheet:
    def test_answers_a_crew_leads_questions(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job()
        setting_day(red_crew, job)
        found, printed = read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))
        assert len(found.pages) == 1
        assert "May I dig here on Mon May 4? YES" in printed
        assert "By hand only: post 3." in printed
        # Post, kind, size and length, hole wide and deep, dug, station, top, bottom, bags.
        assert "7 Line, through 5 sq, 9-0 12 36 auger 43-9 3/8 60 48 4 no no" in printed
        assert "3 Line, through 5 sq, 9-0 12 36 HAND 14-7 1/8 60 48 4 no no" in printed
        assert "1 End, one face 5 sq, 9-0 12 36 auger 0-0 60 48 4 no 2 ways" in printed
        assert "bays 1-8 (posts 1 to 9) 82-9/16 in" in printed
        assert "Hang not before: panels Wed May 6, 11:00; gates Fri May 8, 23:15." in printed
        assert "standard mix. Panels by the firm's table, 48 h." in printed
        assert "48 h. Gates by strength, 108.25 h." in printed
        assert "Gate code 4711" in printed
        assert "Dog One, friendly" in printed
        assert "36 bags of Concrete mix, 80 lb bag: what the holes take and 10 % more." in printed
        assert "Local code, the ticket itself and licensed people decide" in printed

    def test_is_tagged_letter_paper_with_a_title(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job()
        setting_day(red_crew, job)
        found, _ = read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))
        catalog = cast("Any", found.trailer["/Root"])
        # ISO 14289-1 (PDF/UA-1): 7.1 marked content, 7.2 language.
        assert catalog["/MarkInfo"]["/Marked"]
        assert "/StructTreeRoot" in catalog
        assert catalog["/Lang"] == "en"
        assert found.metadata is not None
        assert found.metadata.title == "Job 1001, May 4, 2026, Red crew"
        # Letter: 8-1/2 x 11 in at 72 points.
        box = found.pages[0].mediabox
        assert (float(box.width), float(box.height)) == (612.0, 792.0)

    def test_usual_job_of_two_lines_and_a_gate_is_one_page(
        self, as_lead: Client, red_crew: Crew
    ) -> None:
        # 100 ft with a gate and 60 ft round a corner: 22 posts.
        job = make_job(fence_line([1200.0, 720.0], gates=[GATE], no_dig=[GAS]))
        setting_day(red_crew, job)
        found, printed = read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))
        assert len(found.pages) == 1
        assert "22 End, one face" in printed

    def test_hang_day_of_the_same_job_is_one_page_too(
        self, as_lead: Client, red_crew: Crew
    ) -> None:
        job = make_job(fence_line([1200.0, 720.0], gates=[GATE], no_dig=[GAS]))
        setting_day(red_crew, job)
        put_on(job, "hang", red_crew, may(8))
        found, printed = read_pdf(as_lead, address(red_crew, job, may(8), name="day_sheet_pdf"))
        assert len(found.pages) == 1
        # Post 14 is the corner: 720 in are 8 bays of 90, clear 85, rails 88 long.
        assert "20 21 to 22 85 in 88 in cut" in printed
        assert "Gate G1: 48 in clear. Leaf 46 in; gaps: hinge 1 in, latch 1 in." in printed
        assert "Hinges on post 3, latch post 4" in printed
        assert "Load by the load list of this day." in printed

    def test_long_fence_repeats_what_it_is_on_every_page(
        self, as_lead: Client, red_crew: Crew
    ) -> None:
        job = make_job(fence_line(96.0 * 59))
        setting_day(red_crew, job)
        found, _ = read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))
        assert len(found.pages) > 1
        assert "Job 1001, Mon May 4, 2026" in found.pages[1].extract_text()
        assert "60 End, one face" in " ".join(
            " ".join(page.extract_text() for page in found.pages).split()
        )
