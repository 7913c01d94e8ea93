"""Several pours of one job: the crew reads which bays are hard, the office each pour by itself.

Standard mix at 60 F: panels by the firm's table after 48 h (its band from 50 F on; by strength
30.5 h at 73 F are some 47 h), gates by strength after 108.25 h (as on every day sheet at 60 F).
Nine posts, eight bays, as worked out in tests/day_cast.
"""

import datetime as dt
from html import unescape
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse

from scheduling.models import Crew, DayReport, FenceJob, PostRecord
from tests.crew_cast import may, put_on
from tests.day_cast import GATE, address, make_job, page_of, read_pdf, words
from tests.factories import NOW
from tests.sheet_cast import Json, fence_line

pytestmark = pytest.mark.django_db
NEW_YORK = ZoneInfo("America/New_York")


def pour(job: FenceJob, crew: Crew, day: int, hour: int, posts: range) -> None:
    poured_at = dt.datetime(2026, 5, day, hour, tzinfo=NEW_YORK)
    report = DayReport.objects.create(
        job=job,
        crew=crew,
        date=may(day),
        poured_at=poured_at,
        mix="standard",
        air_f=60.0,
        reported_at=NOW,
    )
    PostRecord.objects.bulk_create(
        PostRecord(job=job, number=number, report=report, set_at=poured_at, recorded_at=NOW)
        for number in posts
    )


def poured_job(crew: Crew, *lines: Json, is_set: bool = True, second: int = 6) -> FenceJob:
    """Return a job with posts 1 to 5 poured Monday 11:00 and the rest Tuesday 13:00."""
    job = make_job(*lines)
    pour(job, crew, 4, 11, range(1, 6))
    if is_set:
        pour(job, crew, 5, 13, range(second, 10))
        job.phases.filter(kind__in=["removal", "layout", "dig", "set"]).update(finished_on=may(5))
    return job


def test_day_of_hanging_names_the_bays_that_are_hard(as_lead: Client, red_crew: Crew) -> None:
    job = poured_job(red_crew)
    put_on(job, "hang", red_crew, may(7))
    seen = words(page_of(as_lead, address(red_crew, job, may(7))))
    # Monday 11:00 and 48 h: Wednesday 11:00. Tuesday 13:00 and 48 h: Thursday 13:00; bay 5 stands
    # between a post of either.
    assert "Is the concrete hard? IN PART, as reckoned" in seen
    assert "1-4 ready when you begin 5-8 NOT before Thu May 7, 13:00" in seen
    assert "Posts 1-5; panels from Wed May 6, 11:00" in seen
    assert "Posts 6-9; panels from Thu May 7, 13:00" in seen
    _, printed = read_pdf(as_lead, address(red_crew, job, may(7), name="day_sheet_pdf"))
    assert "Is the concrete hard? IN PART, as reckoned" in printed
    assert "1-4 ready when you begin; 5-8 NOT before Thu May 7, 13:00." in printed
    assert "All posts: panels from Thu May 7, 13:00;" in printed
    assert "TOO EARLY" not in printed
    # Each bay says so itself: the four of the second pour, and none of the first.
    for text in (seen, printed):
        assert text.count("not before Thu May 7, 13:00") == 4
    assert "cut 6: not before Thu May 7, 13:00" in seen
    _, week = read_pdf(as_lead, reverse("week_paper", args=[red_crew.pk, may(7)]))
    assert "Bays of this day: 1-4 ready when you begin; 5-8 NOT before Thu May 7, 13:00." in week
    # Both pours give their reasons; that of all posts is the later one's and not told again.
    assert seen.count("Posts set Tue 13:00, standard mix. Panels from") == 1


def test_before_any_bay_is_hard_it_says_no(as_lead: Client, red_crew: Crew) -> None:
    job = poured_job(red_crew)
    put_on(job, "hang", red_crew, may(6))
    seen = words(page_of(as_lead, address(red_crew, job, may(6))))
    # 7:00 on Wednesday: the first pour is ready at 11:00.
    assert "Is the concrete hard? NO" in seen
    assert "1-4 NOT before Wed May 6, 11:00 5-8 NOT before Thu May 7, 13:00" in seen


def test_posts_that_are_still_to_be_set_carry_nothing(as_lead: Client, red_crew: Crew) -> None:
    job = poured_job(red_crew, is_set=False)
    put_on(job, "set", red_crew, may(7), air_f=60)
    put_on(job, "hang", red_crew, may(7))
    seen = words(page_of(as_lead, address(red_crew, job, may(7))))
    assert "IN PART" in seen
    assert "1-4 ready when you begin 5-8 not yet: a post is not set" in seen
    assert "cut 6: not yet" in seen


def test_post_nobody_ticked_waits_for_the_last_pour(as_lead: Client, red_crew: Crew) -> None:
    job = poured_job(red_crew, second=7)
    put_on(job, "hang", red_crew, may(7))
    seen = words(page_of(as_lead, address(red_crew, job, may(7))))
    assert "1-4 ready when you begin 5-8 NOT before Thu May 7, 13:00" in seen


def test_stretched_fabric_waits_for_every_post_of_its_stretch(
    as_lead: Client, red_crew: Crew
) -> None:
    # 700-1/2 in at 120 at most: six bays, seven posts, no terminal between the ends: none of its
    # bays is hard before post 6 and 7 are.
    job = poured_job(red_crew, fence_line(700.5, system="chain_link_6ft"), second=6)
    put_on(job, "hang", red_crew, may(9), start=dt.time(7))
    seen = words(page_of(as_lead, address(red_crew, job, may(9))))
    # Tuesday 13:00 and 108.25 h, as for gates: Sunday 01:15.
    assert "1-6 NOT before Sun May 10, 01:15" in seen
    assert "ready when you begin" not in seen


def test_gate_waits_for_both_its_posts(as_lead: Client, red_crew: Crew) -> None:
    # Bays 1 and 2, the gate between posts 3 and 4, then bay 3 from post 4 on.
    job = poured_job(red_crew, fence_line(768.0, gates=[GATE]))
    put_on(job, "gates", red_crew, may(9))
    seen = words(page_of(as_lead, address(red_crew, job, may(9))))
    # Monday 11:00 and 108.25 h: Friday 23:15.
    assert "Is the concrete hard? YES, as reckoned" in seen
    assert "Gates of this day G1 ready when you begin" in seen
    assert "Gate G1: 4-0 clear, not before" not in seen


def test_gate_of_a_later_pour_says_before_when_it_does_not_hang(
    as_lead: Client, red_crew: Crew
) -> None:
    # Poured Monday with posts 1 and 2 alone, the gate's two posts belong to Tuesday's pour:
    # 13:00 and 108.25 h is Sunday 01:15. Work of the day that has only that gate says NO.
    job = make_job(fence_line(768.0, gates=[GATE]))
    pour(job, red_crew, 4, 11, range(1, 3))
    pour(job, red_crew, 5, 13, range(3, 9))
    job.phases.filter(kind__in=["removal", "layout", "dig", "set"]).update(finished_on=may(5))
    put_on(job, "gates", red_crew, may(9))
    seen = words(page_of(as_lead, address(red_crew, job, may(9))))
    assert "G1 NOT before Sun May 10, 01:15" in seen
    assert "clear, not before Sun May 10, 01:15" in seen


def test_job_shows_each_pour_with_its_own_curve_and_sentence(
    as_office: Client, red_crew: Crew
) -> None:
    job = poured_job(red_crew)
    page = unescape(as_office.get(reverse("job", args=[job.pk])).content.decode())
    assert page.count('<polyline class="strength-line"') == 2
    assert "<h3>Poured Mon May 4 11:00, posts 1-5</h3>" in page
    seen = words(page)
    assert "Posts 1-5. Posts set Mon 11:00, standard mix. Panels from Wednesday 11:00" in seen
    assert "Posts 6-9. The calendar waits for these, as said above." in seen
    assert seen.count("Posts set Tue 13:00, standard mix. Panels from Thursday 13:00") == 1


def test_one_pour_is_told_as_ever(as_lead: Client, red_crew: Crew) -> None:
    job = make_job()
    pour(job, red_crew, 5, 13, range(1, 10))
    job.phases.filter(kind__in=["removal", "layout", "dig", "set"]).update(finished_on=may(5))
    put_on(job, "hang", red_crew, may(8))
    seen = words(page_of(as_lead, address(red_crew, job, may(8))))
    assert "YES, as reckoned, but NOT for gates" in seen
    assert "Pour by pour" not in seen
