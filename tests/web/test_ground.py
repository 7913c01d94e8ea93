"""The ground page: what a crew lead found is looked at, refused at its field, or saved."""

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.http.response import HttpResponseBase
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from estimating.models import ChangeOrder, GroundChange
from estimating.selectors.build_sheets import build_sheet
from estimating.selectors.sheet_parts import StringSetting
from firm.models import FirmProfile, Role, User
from scheduling.models import Crew, DayReport, FenceJob, PostRecord
from tests.cast import make_person
from tests.crew_cast import give_to_crew_of
from tests.factories import NOW, TODAY, make_firm
from tests.ground_cast import ground_document, make_ground_job
from tests.job_cast import make_fence_job
from tests.web.answers import body_of

pytestmark = pytest.mark.django_db
SHOWN_A = "[[1, 0.0], [2, 90.0], [3, 180.0], [4, 270.0], [5, 360.0]]"
SHOWN_B = "[[6, 0.0], [7, 96.0], [8, 192.0]]"


@pytest.fixture
def job(db: None) -> FenceJob:
    make_firm()
    return make_ground_job()


@pytest.fixture
def lead(job: FenceJob) -> User:
    person = make_person(Role.CREW_LEAD)
    give_to_crew_of(person, job)
    return person


@pytest.fixture
def phone(lead: User) -> Client:
    client = Client()
    client.force_login(lead)
    return client


def typed(**changes: Any) -> dict[str, str]:
    """Return the page as it comes, sent back unchanged but for `changes`."""
    values = {
        "based_on": "0",
        "line0_leg0": "30-0",
        "line0_shown": SHOWN_A,
        "line0_mark0_station": "12-6",
        "line0_mark0_width": "6 in",
        "line0_mark0_angle": "90.0",
        "line0_mark0_utility": "gas",
        "line0_mark0_hand": "on",
        "line0_mark1_station": "",
        "line1_leg0": "16-0",
        "line1_shown": SHOWN_B,
        "line1_mark0_station": "",
    }
    values |= {f"post{number}": "" for number in (2, 3, 4, 7)}
    return values | changes


def address(job: FenceJob) -> str:
    return reverse("ground", args=[job.pk])


def send(client: Client, job: FenceJob, act: str = "look", **changes: Any) -> HttpResponseBase:
    return client.post(address(job), typed(**changes) | {act: "yes"})


def page_of(answer: HttpResponseBase) -> str:
    return unescape(body_of(answer).decode())


def words_of(page: str) -> str:
    """Return what the page says in one line, without its tags."""
    return re.sub(r" ([,.])", r"\1", " ".join(re.sub(r"<[^>]*>", " ", page).split()))


def test_page_shows_what_was_sold_with_a_field_for_each_post_that_may_move(
    phone: Client, job: FenceJob
) -> None:
    page = page_of(phone.get(address(job)))
    for words in ("sold as 30-0", 'value="30-0"', 'value="12-6"', 'value="gas"', "As sold"):
        assert words in page, words
    names = [f'name="post{number}"' in page for number in range(1, 9)]
    assert names == [False, True, True, True, False, False, True, False]
    assert "$" not in page


def test_page_sent_back_as_it_came_changes_nothing(phone: Client, job: FenceJob) -> None:
    answer = send(phone, job)
    assert answer.status_code == 200
    assert "Nothing that is built changes" in page_of(answer)
    answer = send(phone, job, "save")
    assert answer.status_code == 422
    assert "Nothing differs from the sheet" in page_of(answer)
    assert not GroundChange.objects.exists()


def test_moved_post_is_shown_before_it_is_saved(phone: Client, job: FenceJob) -> None:
    answer = send(phone, job, post2="7-4", note="Root at 7-6")
    page = page_of(answer)
    # Post 2 from 90 to 88 in: 83 and 87 between the faces instead of 85 and 85.
    words = words_of(page)
    assert "2 7-6 7-4 moved" in words
    assert "A 1 85 in 83 in" in words
    assert "A 2 85 in 87 in" in words
    assert 'value="7-4"' in page
    assert "Root at 7-6" in page
    assert "$" not in page
    assert not GroundChange.objects.exists()


def test_saved_it_is_the_sheet_and_the_old_one_is_void(
    phone: Client, job: FenceJob, lead: User
) -> None:
    answer = send(phone, job, "save", line0_leg0="33-0", note="Pin 3 ft on")
    assert answer.status_code == 302
    change = GroundChange.objects.get()
    assert (change.version, change.note, change.made_by) == (1, "Pin 3 ft on", lead)
    page = page_of(phone.get(address(job)))
    assert "Version 1 is the sheet now. Throw away printed sheets of the sale." in page
    assert 'value="33-0"' in page
    assert "void As sold" in words_of(page)
    assert "in force Version 1" in words_of(page)
    order = ChangeOrder.objects.get()
    assert order.price_before_tax > 0
    assert "$" not in page


def test_longer_leg_lists_the_posts_anew(phone: Client, job: FenceJob) -> None:
    page = page_of(send(phone, job, line0_leg0="33-0"))
    # 396 in: five bays of 79 3/16 or 79 1/4; posts 2 to 5 may move, 6 is the end now.
    assert "Line A: 30-0 → 33-0, 5 → 6 posts" in words_of(page)
    names = [f'name="post{number}"' in page for number in range(1, 10)]
    assert names == [False, True, True, True, True, False, False, True, False]
    assert "6 none 33-0 new, end post" in words_of(page)


def test_post_typed_by_the_old_list_has_to_be_entered_again(phone: Client, job: FenceJob) -> None:
    answer = send(phone, job, line0_leg0="33-0", post3="15-4")
    page = page_of(answer)
    assert answer.status_code == 422
    assert "the posts are numbered anew" in page
    assert 'value="15-4"' in page
    assert 'value="33-0"' in page
    # A post of a line that keeps its places only by another number is asked again too.
    answer = send(phone, job, line0_leg0="33-0", post7="8-1")
    assert answer.status_code == 422


def test_moved_post_put_back_by_emptying_its_field(phone: Client, job: FenceJob) -> None:
    send(phone, job, "save", post3="15-4")
    page = page_of(phone.get(address(job)))
    assert 'name="post3" value="15-4"' in page
    send(phone, job, "save", post3="", based_on="1")
    last = GroundChange.objects.order_by("-version")[0]
    assert (last.version, last.entries["standing"]) == (2, [])
    assert not ChangeOrder.objects.filter(state="draft").exists()


def test_mark_is_moved_added_and_dropped(phone: Client, job: FenceJob) -> None:
    changes = {
        "line0_mark0_station": "",
        "line0_mark1_station": "9-0",
        "line0_mark1_width": "2",
        "line0_mark1_angle": "60",
        "line0_mark1_utility": "water",
        "line0_mark1_hand": "on",
    }
    page = page_of(send(phone, job, **changes))
    assert "dig by hand" in page
    assert "tolerance zone of the water mark" in page
    send(phone, job, "save", **changes)
    (mark,) = GroundChange.objects.get().document["lines"][0]["no_dig"]
    assert mark == {
        "station_in": 108.0,
        "facility_width_in": 2.0,
        "crossing_deg": 60.0,
        "utility": "water",
        "hand_dig": True,
    }


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"line0_leg0": "thirty"}, "'thirty' is not a length"),
        ({"line0_leg0": ""}, "This field is required"),
        ({"line0_leg0": "0"}, "must be 0-0 1/16 or more"),
        ({"line0_leg0": "99999999"}, "more than two miles"),
        ({"post2": "-3"}, "can't be negative"),
        ({"post2": "15-0"}, "at or past post 3 at 15-0"),
        ({"post2": "7-14"}, "reach 12 or more"),
        ({"line0_mark0_angle": "200"}, "less than or equal to 180"),
        ({"line0_mark0_angle": "nan"}, "Enter a number"),
        ({"line0_mark1_utility": "water"}, "Where does this mark cross"),
        ({"line0_mark0_utility": "<b>gas"}, "plain words"),
        ({"note": "x" * 301}, "at most 300"),
        ({"based_on": "7"}, "Someone else has saved version 0"),
        ({"based_on": ""}, "Open the page anew"),
        ({"based_on": "x"}, "Open the page anew"),
    ],
)
def test_bad_input_is_said_at_its_field_and_nothing_is_lost(
    phone: Client, job: FenceJob, changes: dict[str, str], words: str
) -> None:
    entered = {"post4": "22-7 3/16"} | changes
    for act in ("look", "save"):
        answer = send(phone, job, act, **entered)
        page = page_of(answer)
        assert answer.status_code == 422
        assert words in page, page[page.index("<main") :]
        for value in entered.values():
            assert value in page, value
    assert not GroundChange.objects.exists()


def test_leg_that_ends_before_its_gate_is_told_in_a_crew_s_words(as_office: Client) -> None:
    make_firm()
    gate = {"id": "G1", "station_in": 300.0, "clear_opening_in": 48.0}
    job = make_ground_job(document=ground_document(gates=[gate]))
    answer = send(as_office, job, line0_leg0="20-0")
    assert answer.status_code == 422
    # The gate stands at 25 ft; 20 ft 0 in as the page writes it is 20-0.
    assert "The station of gate G1 lies past the line's end at 20-0." in page_of(answer)
    assert "lines[" not in page_of(answer)


@pytest.mark.parametrize(
    "shown",
    [
        "",
        "x",
        "[[1]]",
        "{}",
        "[" * 5000,
        "[[1e999, 2]]",
        "[[7, NaN]]",
        "[[7, Infinity]]",
        "[[7, 1e308], [7, 2]]",
        '[["a", "b"]]',
        "7",
        "null",
    ],
)
def test_hidden_list_that_nobody_typed_breaks_nothing(
    phone: Client, job: FenceJob, shown: str
) -> None:
    answer = send(phone, job, line0_shown=shown, post2="7-4")
    assert answer.status_code in {200, 422}
    assert not GroundChange.objects.exists()


def test_hidden_list_may_not_name_other_posts(phone: Client, job: FenceJob) -> None:
    answer = send(phone, job, "save", line0_shown="[[1, 0.0]]", post1="0-3")
    assert answer.status_code == 422
    assert "an end post" in page_of(answer)
    answer = send(phone, job, "save", line0_shown="[[99, 0.0]]", post99="0-3")
    assert answer.status_code == 422


def test_wide_bay_stops_in_plain_words(phone: Client, job: FenceJob) -> None:
    page = page_of(send(phone, job, post7="7-11"))
    assert "Can't be built like this." in page
    assert "97 in on centre, limit 96 in on centre" in page


def test_what_can_t_be_built_says_so_on_every_sheet(phone: Client, job: FenceJob) -> None:
    assert send(phone, job, "save", post7="7-11").status_code == 302
    string = StringSetting(side="left", offset_in=0.0, height_in=12.0)
    layout = build_sheet(job.proposal_id, string=string)
    assert layout
    (stop,) = layout.stops
    assert stop.startswith("line B, bay 2, station 7-11: ")
    assert "97 in on centre, limit 96 in on centre" in stop


def test_set_post_may_not_move(phone: Client, job: FenceJob) -> None:
    crew = Crew.objects.get()
    report = DayReport.objects.create(job=job, crew=crew, date=TODAY, reported_at=NOW)
    PostRecord.objects.create(job=job, number=3, report=report, set_at=NOW, recorded_at=NOW)
    assert '<span class="badge badge-ok">set</span>' in page_of(phone.get(address(job)))
    answer = send(phone, job, "save", post3="15-4")
    assert answer.status_code == 422
    assert "Post 3 is set already" in page_of(answer)
    assert not GroundChange.objects.exists()


def test_two_people_at_once_make_one_version(phone: Client, job: FenceJob) -> None:
    assert send(phone, job, "save", post3="15-4").status_code == 302
    answer = send(phone, job, "save", post3="15-5")
    assert answer.status_code == 422
    assert "Someone else has saved version 1" in page_of(answer)
    assert 'value="15-5"' in page_of(answer)
    assert GroundChange.objects.count() == 1


def test_finished_job_keeps_its_sheet(phone: Client, job: FenceJob) -> None:
    FenceJob.objects.filter(pk=job.pk).update(state="finished", finished_at=NOW)
    assert "its sheet stays as it is" in page_of(phone.get(address(job)))
    assert send(phone, job, "save", post3="15-4").status_code == 422
    assert not GroundChange.objects.exists()


def test_work_without_a_layout_says_so(as_office: Client) -> None:
    make_firm()
    job = make_fence_job()
    assert "no layout that could be marked" in page_of(as_office.get(address(job)))
    assert as_office.post(address(job), typed()).status_code == 422


@pytest.mark.parametrize("role", [Role.OWNER, Role.OFFICE])
def test_office_and_owner_mark_any_job(
    as_role: Callable[[Role | None], Client], job: FenceJob, role: Role
) -> None:
    client = as_role(role)
    assert client.get(address(job)).status_code == 200
    assert send(client, job, "save", post3="15-4").status_code == 302


def test_another_crew_s_job_does_not_exist(lead: User, phone: Client) -> None:
    foreign = make_ground_job(number=1002)
    assert phone.get(address(foreign)).status_code == 404
    assert send(phone, foreign, "save", post3="15-4").status_code == 404
    assert not GroundChange.objects.exists()


def test_metric_firm_reads_and_shows_metres(phone: Client, job: FenceJob) -> None:
    FirmProfile.objects.update(units="metric")
    page = page_of(phone.get(address(job)))
    assert "sold as 9.144 m" in page
    metric = {
        "line0_leg0": "9.144 m",
        "line0_mark0_station": "3.810 m",
        "line0_mark0_width": "152 mm",
        "line1_leg0": "4.877 m",
    }
    # What is shown and sent back unread changes nothing, though 152 mm are not 6 in.
    assert "Nothing that is built changes" in page_of(send(phone, job, **metric))
    page = page_of(send(phone, job, **metric, post2="2.235"))
    assert "2.235 m" in page


def test_queries_do_not_grow_with_the_posts(
    phone: Client, job: FenceJob, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(16):
        phone.get(address(job))
    long = ground_document(legs=[{"length_in": 9600.0, "turn_deg": 0.0}])
    big = make_ground_job(document=long, number=1002)
    give_to_crew_of(User.objects.get(role=Role.CREW_LEAD), big)
    with django_assert_max_num_queries(16):
        assert phone.get(address(big)).status_code == 200
