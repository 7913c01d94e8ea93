"""A crew lead's day sheet: every figure the crew builds by, for the own crew alone, no prices."""

import datetime as dt
import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from estimating.models import GroundChange
from firm.models import Clearance, Role, UtilityAnswer
from scheduling.models import Crew, FenceJob
from tests.cast import make_person
from tests.crew_cast import may, put_on
from tests.day_cast import GAS, GATE, address, make_job, page_of, read_pdf, setting_day, words
from tests.factories import NOW, TODAY
from tests.job_cast import settle
from tests.sheet_cast import fence_document, fence_line, make_laid_out_estimate

pytestmark = pytest.mark.django_db
# One of them for the air, one for the rain.
QUERIES = 14


class TestSettingDay:
    def test_tells_the_place_and_the_people(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job(crew_note="Keep off the roses.")
        setting_day(red_crew, job)
        seen = words(page_of(as_lead, address(red_crew, job)))
        for told in (
            "1001 Larch Court",
            "Past the barn, then left",
            "4711",
            "One, friendly",
            "555-0177",
            "555-0178",
            "555-0140",
            "Keep off the roses.",
            "Red crew: Ada Quill",
            "07:00 to 13:00",
            "Small auger",
        ):
            assert told in seen
        assert "Bo Tarn" not in seen

    def test_puts_the_ticket_first(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job()
        assert job.site is not None
        ticket = Clearance.objects.get(site=job.site, kind="locate")
        UtilityAnswer.objects.create(
            clearance=ticket, utility="Water", answer="nothing_there", note="meter is in front"
        )
        setting_day(red_crew, job)
        seen = words(page_of(as_lead, address(red_crew, job)))
        assert "May I dig here on Mon, May 4? YES" in seen
        assert "Locate ticket NY-40117" in seen
        assert "Good from Sun May 3 to Sun May 24, 2026" in seen
        assert "Gas Marked" in seen
        assert "Water Nothing there: meter is in front" in seen
        assert "By hand only: post 3." in seen
        assert "Gas crosses line A at 16-8, 6 in wide" in seen
        assert "Marked on the ground: Gas. Dig by hand within 24 in" in seen
        assert seen.index("Locate ticket") < seen.index("Gate code") < seen.index("Posts and")

    def test_gives_post_seven_its_figures(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job()
        setting_day(red_crew, job)
        html = page_of(as_lead, address(red_crew, job))
        card = re.search(r'<li id="post-7".*?</li>', html, re.DOTALL)
        assert card is not None
        assert words(card[0]).strip() == (
            "7 Line post, routed straight through 5 in square, 9-0 long dig by auger "
            "Hole 36 in deep 12 in wide Top above string 60 in String to hole bottom 48 in "
            "Bags 4 From line's start 43-9 3/8 Stiffener and brace no stiffener no brace"
        )
        third = re.search(r'<li id="post-3".*?</li>', html, re.DOTALL)
        assert third is not None
        assert "DIG BY HAND" in third[0]
        assert html.count("DIG BY HAND") == 1

    def test_gives_spacers_string_load_and_waits(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job(string_side="right", string_offset_in=0.5, string_height_in=10)
        setting_day(red_crew, job)
        seen = words(page_of(as_lead, address(red_crew, job)))
        assert "Bays 1 to 8 (posts 1 to 9): 82-9/16 in" in seen
        assert "String on the right, seen from the line's start, 1/2 in off" in seen
        assert "10 in over the ground at both ends" in seen
        # 9 x 3.96 = 35.64: 36 bags, the 10 % over the holes within. One length: two sticks.
        assert "36 bags of Concrete mix, 80 lb bag: what the holes take and 10 % more" in seen
        assert "9 Vinyl post 5 x 5 in, 9 ft" in seen
        assert "2 spacer sticks" in seen
        assert "auger bit 12 in" in seen
        # Standard mix at 60 F, where an hour counts as .6471: panels by the table 48 h (strength
        # 30.476 / .6471 = 47.10, up to 47.25 h); gates by strength 69.960 / .6471 = 108.12, up to
        # 108.25 h.
        assert "Hang not before Panels from Wed May 6, 11:00 Gates from Fri May 8, 23:15" in seen
        assert "Panels from Wednesday 11:00: the firm's table says 48 h at 60 F" in seen
        assert "108.25 h at a mean of 60 F count as 70.0 h at 73 F" in seen

    def test_leaves_no_machine_on_a_site_dug_by_hand(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job()
        assert job.site is not None
        job.site.dig_method = "hand"
        job.site.save()
        setting_day(red_crew, job)
        seen = words(page_of(as_lead, address(red_crew, job)))
        assert "every hole is dug by hand" in seen
        assert "dig by auger" not in seen
        assert "clearing. Mind overhead" not in seen

    def test_says_no_without_a_ticket(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job()
        Clearance.objects.filter(site=job.site, kind="locate").delete()
        setting_day(red_crew, job)
        seen = words(page_of(as_lead, address(red_crew, job)))
        assert "May I dig here on Mon, May 4? NO" in seen
        assert "No locate ticket is written down." in seen
        _, printed = read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))
        assert "May I dig here on Mon May 4? NO" in printed

    def test_tells_of_the_inspection_before_concrete(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job(inspection_before_pour=True)
        FenceJob.objects.update(inspection_passed_on=None)
        setting_day(red_crew, job)
        assert "Before concrete: do not pour yet" in words(page_of(as_lead, address(red_crew, job)))
        job.inspection_passed_on = TODAY
        job.save()
        assert "Before concrete: may pour" in words(page_of(as_lead, address(red_crew, job)))


def test_waits_for_the_last_pour_of_every_crew(as_lead: Client, red_crew: Crew) -> None:
    # The blue crew sets the rest on Tuesday, 4 h after 2 h at another job: poured at 13:00, 60 F.
    job, blue = make_job(), Crew.objects.create(name="Blue crew")
    setting_day(red_crew, job)
    put_on(make_job(number=1002), "layout", blue, may(5), hours="2")
    put_on(job, "set", blue, may(5), hours="4", air_f=60)
    seen = words(page_of(as_lead, address(red_crew, job)))
    assert "Panels from Thu May 7, 13:00 Gates from Sun May 10, 01:15" in seen


class TestHangDay:
    def make(self, red_crew: Crew, on: dt.date, *kinds: str) -> FenceJob:
        job = make_job(fence_line(768.0, gates=[GATE]))
        setting_day(red_crew, job)
        for kind in kinds:
            put_on(job, kind, red_crew, on)
        return job

    def test_gives_bays_cuts_and_gates(self, as_lead: Client, red_crew: Crew) -> None:
        # Gate G1 begins at 192: its posts stand 2-1/2 in outside the opening, at 189-1/2 and
        # 242-1/2. To the left 2 bays of 94-3/4: clear 89-3/4, rail + 3 = 92-3/4. To the right
        # 525-1/2: 6 bays of 87-7/12, on the grid 87-9/16 and 87-5/8; clear 82-9/16 and 82-5/8.
        job = self.make(red_crew, may(8), "hang", "gates")
        seen = words(page_of(as_lead, address(red_crew, job, may(8))))
        assert "1 1 to 2 89-3/4 92-3/4 cut" in seen
        assert re.search(r"3 4 to 5 82-(9/16|5/8) 85-(9/16|5/8) cut", seen)
        assert "Gate G1: 48 in clear Leaf 46 in wide" in seen
        assert "hinge 1 in, latch 1 in" in seen
        assert "4 \N{MULTIPLICATION SIGN} 92-3/4 in line A" in seen
        assert "Posts and concrete" not in seen

    def test_says_when_it_is_too_early(self, as_lead: Client, red_crew: Crew) -> None:
        job = self.make(red_crew, may(5), "hang")
        seen = words(page_of(as_lead, address(red_crew, job, may(5))))
        assert "Is the concrete hard? NO" in seen
        assert "Do not start: hanging" in seen
        _, printed = read_pdf(as_lead, address(red_crew, job, may(5), name="day_sheet_pdf"))
        assert "TOO EARLY TODAY: hanging" in printed

    def test_lets_panels_hang_when_their_wait_is_over(
        self, as_lead: Client, red_crew: Crew
    ) -> None:
        job = self.make(red_crew, may(7), "hang")
        seen = words(page_of(as_lead, address(red_crew, job, may(7))))
        assert "Is the concrete hard? YES, as reckoned, but NOT for gates" in seen

    def test_says_how_far_a_bay_rises(self, as_lead: Client, red_crew: Crew) -> None:
        # 48 ft falling 30 in: 6 bays, 5 in down in each (trade handbook, section 7).
        ground = [
            {"station_in": 0.0, "elevation_in": 0.0},
            {"station_in": 576.0, "elevation_in": -30.0},
        ]
        job = make_job(fence_line(576.0, ground=ground))
        put_on(job, "hang", red_crew, TODAY)
        seen = words(page_of(as_lead, address(red_crew, job)))
        assert seen.count("down 5 in") == 6


class TestVoidSheet:
    @pytest.fixture
    def job(self, red_crew: Crew) -> FenceJob:
        job = make_job()
        setting_day(red_crew, job)
        changed = make_laid_out_estimate(fence_document(fence_line(864.0)), number=7001)
        GroundChange.objects.create(
            proposal=job.proposal,
            version=1,
            document=changed.document,
            result=changed.result,
            note="Post 2 moved off a root.",
            made_at=NOW,
        )
        return job

    def test_older_layout_is_void(self, as_lead: Client, red_crew: Crew, job: FenceJob) -> None:
        where = address(red_crew, job)
        newest = words(page_of(as_lead, where))
        assert "VOID" not in newest
        assert "Layout 1, Mon May 4" in newest
        assert "Post 2 moved off a root." in newest
        old = page_of(as_lead, f"{where}?version=0")
        assert "VOID: do not build from this" in words(old)
        assert f"{address(red_crew, job, name='day_sheet_pdf')}?version=0" in old

    def test_print_of_it_says_so_too(self, as_lead: Client, red_crew: Crew, job: FenceJob) -> None:
        where = address(red_crew, job, name="day_sheet_pdf")
        _, newest = read_pdf(as_lead, where)
        assert "VOID" not in newest
        _, old = read_pdf(as_lead, f"{where}?version=0")
        assert "VOID. Layout as sold is replaced by layout 1: do not build from this." in old
        assert "layout as sold VOID" in old

    @pytest.mark.parametrize("version", ["2", "x", "-1", "٣", "1234567"])
    def test_no_such_layout(
        self, as_lead: Client, red_crew: Crew, job: FenceJob, version: str
    ) -> None:
        answer = as_lead.get(address(red_crew, job), {"version": version})
        assert answer.status_code == 404


class TestReach:
    NAMES = ("day_sheet", "day_sheet_pdf")

    @pytest.mark.parametrize("role", [Role.OWNER, Role.OFFICE])
    def test_office_sees_every_crew(self, red_crew: Crew, role: Role) -> None:
        job = make_job()
        setting_day(red_crew, job)
        client = Client()
        client.force_login(make_person(role))
        for name in self.NAMES:
            assert client.get(address(red_crew, job, name=name)).status_code == 200
        assert client.get(reverse("day", args=[red_crew.pk, TODAY])).status_code == 200

    def test_crew_lead_sees_no_other_crew(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job()
        setting_day(red_crew, job)
        other = Crew.objects.create(name="Blue crew")
        theirs = make_job(number=1002)
        put_on(theirs, "set", other, TODAY)
        for name in self.NAMES:
            assert as_lead.get(address(red_crew, job, name=name)).status_code == 200
            assert as_lead.get(address(other, theirs, name=name)).status_code == 404
            assert as_lead.get(address(red_crew, theirs, name=name)).status_code == 404
            assert as_lead.get(address(other, job, name=name)).status_code == 404
            assert as_lead.get(address(red_crew, job, may(6), name=name)).status_code == 404
        assert as_lead.get(reverse("day", args=[other.pk, TODAY])).status_code == 404
        assert "1002" not in words(page_of(as_lead, reverse("day", args=[red_crew.pk, TODAY])))

    def test_stranger_logs_in_first(self, red_crew: Crew) -> None:
        job = make_job()
        setting_day(red_crew, job)
        for name in self.NAMES:
            answer = Client().get(address(red_crew, job, name=name))
            assert answer.headers["Location"].startswith("/log-in/?next=")

    def test_nobody_reads_a_price_here(self, as_lead: Client, red_crew: Crew) -> None:
        job = make_job()
        setting_day(red_crew, job)
        seen = page_of(as_lead, address(red_crew, job))
        _, printed = read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))
        for text in (seen, printed):
            assert "$" not in text
            assert not re.search(r"5,?[01]00\.00|3,?153\.33|378\.00|272\.40", text)

    @pytest.mark.parametrize(
        "date",
        ["2026-02-30", "2026-13-01", "26-5-4", "today", "0000-01-01", "0001-01-01", "9999-12-31"],
    )
    def test_no_such_day(self, as_lead: Client, red_crew: Crew, date: str) -> None:
        job = make_job()
        setting_day(red_crew, job)
        for end in ("", f"jobs/{job.pk}/", f"jobs/{job.pk}/sheet.pdf"):
            assert as_lead.get(f"/days/{red_crew.pk}/{date}/{end}").status_code == 404


def test_holes_dug_the_day_before_are_warned_of_while_posts_are_set(
    as_lead: Client, red_crew: Crew
) -> None:
    job = make_job()
    assert job.site
    settle(job.site, on=TODAY)
    put_on(job, "set", red_crew, TODAY)
    seen = words(page_of(as_lead, address(red_crew, job)))
    assert "Open holes: cover or cone each one" in seen
    assert "Auger: no loose clothing" not in seen


def test_job_without_a_layout_has_a_sheet(as_lead: Client, red_crew: Crew) -> None:
    job = make_job()
    job.proposal.estimate.result = {"lines": []}
    job.proposal.estimate.save()
    setting_day(red_crew, job)
    assert "This job has no layout." in words(page_of(as_lead, address(red_crew, job)))
    _, printed = read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))
    assert "This job has no layout" in printed


def test_asks_the_same_of_the_database_however_many_posts(as_lead: Client, red_crew: Crew) -> None:
    counts = []
    for number, length_in in ((1001, 192.0), (1002, 1920.0)):
        job = make_job(fence_line(length_in, no_dig=[GAS]), number=number)
        setting_day(red_crew, job)
        with CaptureQueriesContext(connection) as asked:
            page_of(as_lead, address(red_crew, job))
        counts.append(len(asked))
        with CaptureQueriesContext(connection) as asked:
            read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))
        counts.append(len(asked))
    assert counts == [QUERIES] * 4


def test_days_ask_the_same_with_one_job_and_with_five(as_lead: Client, red_crew: Crew) -> None:
    counts = []
    for number in range(1001, 1006):
        put_on(make_job(number=number), "set", red_crew, TODAY)
        with CaptureQueriesContext(connection) as asked:
            seen = page_of(as_lead, reverse("day", args=[red_crew.pk, TODAY]))
        assert f"Customer {number}" in seen
        counts.append(len(asked))
    assert counts[0] == counts[-1]


FALL = [
    {"station_in": 0.0, "elevation_in": 0.0},
    {"station_in": 576.0, "elevation_in": -30.0},
]


def stepped_job(crew: Crew) -> FenceJob:
    """Return the trade handbook's 48 ft that step 5 in at every bay, to be set and hung today."""
    pins = [{"station_in": 48.0 + 96.0 * bay, "follows": "stepped"} for bay in range(6)]
    job = make_job(fence_line(576.0, ground=FALL, bay_pins=pins))
    setting_day(crew, job)
    put_on(job, "hang", crew, TODAY, hours="4")
    return job


def test_steps_and_tops_below_the_first_are_on_the_page(as_lead: Client, red_crew: Crew) -> None:
    job = stepped_job(red_crew)

    seen = words(page_of(as_lead, address(red_crew, job)))

    # Worked in test_build_sheets: tops 0, 0, 5 ... 25 under the first, each step a drop of 5;
    # 2 in of gap, so the bay before a step ends 2 + 5 over the ground there.
    assert "Top below first top 25 in" in seen
    assert seen.count("drop 5 in") == 5
    assert "bottom of bay 3 7 in over the ground here, of bay 4 2 in" in seen
    assert "Bays 1-6 stand level and step" in seen
    assert "The string is pulled level, 12 in over the highest ground" in seen
    assert seen.count("level, steps") == 6
    assert "ask the office" not in seen


def test_steps_are_printed(as_lead: Client, red_crew: Crew) -> None:
    job = stepped_job(red_crew)

    _, text = read_pdf(as_lead, address(red_crew, job, name="day_sheet_pdf"))

    assert "Top below the first top" in text
    assert text.count("drop 5 in") == 5


def test_spacer_along_a_slope_is_said_where_it_differs(as_lead: Client, red_crew: Crew) -> None:
    # 90 in bays of a wood fence that fall 12 in each: clear 90 - 3-1/2 = 86-1/2; along the ground
    # 86-1/2 x sqrt(90^2 + 12^2) / 90 = 87.266, so 87-1/4 on the tape: 3/4 in more.
    ground = [
        {"station_in": 0.0, "elevation_in": 0.0},
        {"station_in": 270.0, "elevation_in": -36.0},
    ]
    job = make_job(fence_line(270.0, system="wood_privacy_side_6ft", ground=ground))
    setting_day(red_crew, job)

    seen = words(page_of(as_lead, address(red_crew, job)))

    assert "Hold the spacer level in bays 1-3." in seen
    assert "it would have to be 87-1/4 in, not 86-1/2 in" in seen


def test_sheet_and_load_list_count_the_same_bags(as_lead: Client, red_crew: Crew) -> None:
    job = make_job()
    setting_day(red_crew, job)
    seen = words(page_of(as_lead, reverse("crew_load", args=[red_crew.pk, TODAY])))
    assert "Concrete mix, 80 lb bag (bag) 36 not here 36" in seen
    assert "36 bags of Concrete mix, 80 lb bag" in words(page_of(as_lead, address(red_crew, job)))
