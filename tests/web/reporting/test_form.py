"""The page of a day's report: who opens it, what is kept, and every slip told at its field."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from firm.models import AuditEntry, FirmProfile, Role, User
from scheduling.models import DayReport, HoursWorked, JobPhoto, PostRecord
from tests.firm_cast import picture_bytes
from tests.report_cast import (
    DAY,
    Day,
    gps_bytes,
    page_values,
    photo,
    rock,
    span,
    text_of,
    ticks,
)
from tests.web.test_attacks_uploads import bomb_png

pytestmark = pytest.mark.django_db

ROW = "hours-0-"


def test_usual_day_is_kept_with_one_button(phone: Client, day: Day) -> None:
    values = page_values(
        day,
        act="all",
        bags_used="36",
        pour_time="14:30",
        air_f="55",
        everyone_ended="15:30",
        everyone_break="30",
        remarks="Gate post moved an inch",
        photos=[photo(gps_bytes()), photo(picture_bytes(), "b.jpg")],
    )
    answer = phone.post(day.address, values)
    assert (answer.status_code, answer.headers["Location"]) == (302, day.address)
    report = day.report()
    assert (report.bags_used, report.air_f) == (Decimal(36), 55.0)
    assert report.remarks == "Gate post moved an inch"
    assert timezone.localtime(report.poured_at).hour == 14
    assert report.reported_by == User.objects.get(role=Role.CREW_LEAD)
    assert PostRecord.objects.filter(set_at__isnull=False).count() == 9
    # Three people from 7:00 to 15:30 less 30 min: 8 h each.
    assert [row.worked_min for row in HoursWorked.objects.all()] == [480] * 3
    assert report.photos.count() == 2

    page = text_of(phone.get(day.address))
    for words in ("All 9 posts are set.", 'value="14:30"', 'value="36"', 'value="15:30"'):
        assert words in page, words
    assert page.count("small.jpg") == 2
    assert "$" not in page
    assert "62.00" not in page


def test_metric_firm_writes_the_air_in_celsius(phone: Client, day: Day) -> None:
    FirmProfile.objects.update(units=FirmProfile.Units.METRIC)
    assert "Air, \N{DEGREE SIGN}C" in text_of(phone.get(day.address))
    phone.post(day.address, page_values(day, act="all", pour_time="14:30", air_f="12.5"))
    # 12.5 x 1.8 + 32.
    assert day.report().air_f == pytest.approx(54.5)
    page = text_of(phone.get(day.address))
    assert 'value="12.5"' in page
    # Sent again as it was shown, it stays as it was kept.
    phone.post(day.address, page_values(day, pour_time="14:30", air_f="12.5", remarks="Dry"))
    report = day.report()
    assert report.air_f == pytest.approx(54.5)
    assert report.remarks == "Dry"


def test_page_before_anything_is_reported(phone: Client, day: Day) -> None:
    page = text_of(phone.get(day.address))
    assert "0 of 9 set." in page
    assert page.count('value="07:00"') == 3
    assert not DayReport.objects.exists()


MINUTES = "whole minutes, from 0 to 1440"
BAD = [
    ({ROW + "ended": "25:30"}, ROW + "ended", "Type a time of day such as 15:30"),
    ({ROW + "ended": "31"}, ROW + "ended", "Type a time of day such as 15:30"),
    ({ROW + "ended": "06:00"}, ROW + "ended", "The end must come after 07:00"),
    ({ROW + "ended": "17:45"}, ROW + "ended", "It is 17:00 now"),
    ({ROW + "ended": "08:00", ROW + "break_min": "61"}, ROW + "break_min", "as long as the 60"),
    (
        {ROW + "ended": "08:00", ROW + "break_min": "-5"},
        ROW + "break_min",
        MINUTES,
    ),
    (
        {ROW + "ended": "08:00", ROW + "break_min": "9" * 30},
        ROW + "break_min",
        MINUTES,
    ),
    ({ROW + "ended": "08:00", ROW + "member": ""}, ROW + "member", "Choose who worked."),
    ({ROW + "ended": "08:00", ROW + "member": "9876"}, ROW + "member", "Select a valid choice."),
    ({ROW + "ended": "08:00", ROW + "started": ""}, ROW + "started", "Type when they began."),
    ({ROW + "started": "06:00"}, ROW + "ended", "Type when they stopped"),
    ({ROW + "ended": "08:00", ROW + "phase": "9876"}, ROW + "phase", "Select a valid choice."),
    (
        {
            ROW + "ended": "12:00",
            "hours-1-ended": "15:00",
            "hours-1-member": "same",
            "hours-1-started": "11:00",
        },
        "hours-1-started",
        "This lies over 07:00 to 12:00",
    ),
    ({"pour_time": "17:01", "posts": ["1"]}, "pour_time", "It is 17:00 now"),
    ({"pour_time": "14:00"}, "pour_time", "No post is ticked as set that day."),
    ({"pour_time": "noon"}, "pour_time", "Type a time of day such as 15:30"),
    ({"bags_used": "-3"}, "bags_used", "greater than or equal to 0"),
    ({"bags_used": "1e400"}, "bags_used", "Ensure"),
    ({"bags_used": "NaN"}, "bags_used", "Enter a number."),
    ({"bags_used": "100000"}, "bags_used", "Ensure"),
    ({"air_f": "500"}, "air_f", "This must be from -40 to 130."),
    ({"air_f": "inf"}, "air_f", "Type a figure such as 59."),
    ({"mix": "porridge"}, "mix", "Select a valid choice."),
    ({"posts": ["99"]}, "posts", "There is no post 99: this job has posts 1 to 9."),
    ({"posts": ["1; DROP TABLE"]}, "posts", "One of these is no number."),
    ({"rock-0-post_number": "12"}, "rock-0-post_number", "There is no post 12"),
    ({"rock-0-post_number": "-1"}, "rock-0-post_number", "greater than or equal to 1"),
    ({"rock-0-depth_in": "20"}, "rock-0-post_number", "Type the post's number."),
    ({"rock-0-post_number": "1", "rock-0-depth_in": "99 ft"}, "rock-0-depth_in", "or less"),
    (
        {"rock-0-post_number": "1", "rock-0-minutes": "1441"},
        "rock-0-minutes",
        MINUTES,
    ),
    ({"phases": ["9876"]}, "phases", "Select a valid choice."),
    ({"remarks": "<script>alert(1)</script>"}, "remarks", "Write plain words here"),
    ({"remarks": "x" * 2001}, "remarks", "at most 2000 characters"),
    ({"photo_post": "12", "photos": "sound"}, "photo_post", "There is no post 12"),
    ({"photos": b"no picture"}, "photos", "IMG_1.jpg is no JPEG or PNG picture."),
    ({"photos": bomb_png(20_000)}, "photos", "IMG_1.jpg has too many pixels"),
    ({"photos": b"\xff" * (26 * 1024**2)}, "photos", "IMG_1.jpg has 26.0 MB; 25 MB is the most"),
]


@pytest.mark.parametrize(("slip", "field", "words"), BAD, ids=[f"{b[1]}-{b[2][:24]}" for b in BAD])
def test_slip_is_told_at_its_field_and_nothing_is_kept_or_lost(
    phone: Client, day: Day, slip: dict[str, Any], field: str, words: str
) -> None:
    typed = {"extra_work": "Move the gate", "hours-2-ended": "15:00", "bags_used": "7"}
    values = page_values(day, **(typed | slip))
    if values.get("hours-1-member") == "same":
        values["hours-1-member"] = day.members[0].pk
    if "photos" in slip:
        content = gps_bytes() if slip["photos"] == "sound" else slip["photos"]
        values["photos"] = [photo(content), photo(gps_bytes(), "good.jpg")]
    rows = AuditEntry.objects.count()

    answer = phone.post(day.address, values)

    assert answer.status_code == 422
    page = text_of(answer)
    assert words in page
    assert "Not saved yet." in page
    anchor = "posts" if field == "posts" else f"id_{field}"
    assert f'<a href="#{anchor}">' in page
    assert f'id="{anchor}"' in page
    errors = page.index(f'id="id_{field}_error"')
    assert words in page[errors : errors + 700]
    assert "Move the gate" in page
    assert 'value="15:00"' in page
    for name, value in slip.items():
        if isinstance(value, str) and name not in {"photos", "hours-1-member"}:
            assert value in page, name
    assert (DayReport.objects.count(), HoursWorked.objects.count()) == (0, 0)
    assert (PostRecord.objects.count(), JobPhoto.objects.count()) == (0, 0)
    assert AuditEntry.objects.count() == rows


def test_every_slip_is_told_at_once(phone: Client, day: Day) -> None:
    slips = {
        "bags_used": "-3",
        "pour_time": "23:30",
        "posts": ["99"],
        "hours-0-ended": "06:00",
        "hours-1-ended": "15:00",
        "hours-1-break_min": "1500",
        "rock-0-post_number": "12",
        "photo_post": "44",
        "photos": [photo(gps_bytes())],
    }
    page = text_of(phone.post(day.address, page_values(day, **slips)))
    wrong = set(slips) - {"hours-1-ended", "posts", "photos"}
    assert {name for name in wrong if f'id="id_{name}_error"' in page} == wrong
    assert page.count('<ul class="errorlist') == len(wrong) + 1
    assert not DayReport.objects.exists()


def test_ticks_come_back_with_a_page_that_was_refused(phone: Client, day: Day) -> None:
    day.hands_in(posts=ticks(1, 2))
    values = page_values(day, posts=["2", "5"], was_set="1,2", bags_used="-1")
    page = text_of(phone.post(day.address, values))
    ticked = [number for number in range(1, 10) if f'value="{number}" checked' in page]
    assert ticked == [2, 5]
    assert 'name="was_set" value="1,2"' in page


def test_page_without_its_rows_is_refused(phone: Client, day: Day) -> None:
    answer = phone.post(day.address, {"bags_used": "3"})
    assert answer.status_code == 422
    assert "ManagementForm data is missing" in text_of(answer)
    assert not DayReport.objects.exists()


def test_lines_are_changed_added_and_taken_away(phone: Client, day: Day) -> None:
    day.hands_in(hours=(span(day, 0, "07:00", "15:00"), span(day, 1, "07:00", "15:00", row=1)))
    first, second = HoursWorked.objects.order_by("pk")
    dig = day.job.phases.get(kind="dig")
    values = page_values(day) | {
        "hours-TOTAL_FORMS": 3,
        "hours-INITIAL_FORMS": 2,
        "hours-0-pk": first.pk,
        "hours-0-member": day.members[0].pk,
        "hours-0-started": "07:00",
        "hours-0-ended": "12:00",
        "hours-0-phase": dig.pk,
        "hours-1-pk": second.pk,
        "hours-1-member": day.members[1].pk,
        "hours-1-started": "07:00",
        "hours-1-ended": "15:00",
        "hours-1-is_away": "on",
        "hours-2-member": day.members[0].pk,
        "hours-2-started": "12:30 PM",
        "hours-2-ended": "3:30 pm",
    }
    assert phone.post(day.address, values).status_code == 302
    rows = HoursWorked.objects.order_by("started")
    assert [(f"{row.started:%H:%M}", f"{row.ended:%H:%M}", row.phase) for row in rows] == [
        ("07:00", "12:00", dig),
        ("12:30", "15:30", None),
    ]


def test_person_who_was_not_there_is_left_out(phone: Client, day: Day) -> None:
    values = page_values(day, everyone_ended="15:00") | {"hours-1-is_away": "on"}
    assert phone.post(day.address, values).status_code == 302
    names = HoursWorked.objects.values_list("member__name", flat=True)
    assert set(names) == {"Ash Talbot", "Cy Marrow"}


def test_people_without_hours_have_a_line_when_the_day_is_reported_again(
    phone: Client, day: Day
) -> None:
    day.hands_in(hours=(span(day, 0, "07:00", "12:00"),))
    page = text_of(phone.get(day.address))
    # Ash's line as it is kept, Bo's and Cy's, and the empty one.
    assert 'name="hours-TOTAL_FORMS" value="4"' in page
    assert "Everyone stopped at" in page
    first = HoursWorked.objects.get()
    values = page_values(day, everyone_ended="15:00") | {
        "hours-0-pk": first.pk,
        "hours-0-ended": "12:00",
    }
    assert phone.post(day.address, values).status_code == 302
    ends = HoursWorked.objects.order_by("member__name").values_list("ended", flat=True)
    assert [f"{end:%H:%M}" for end in ends] == ["12:00", "15:00", "15:00"]
    assert "Everyone stopped at" not in text_of(phone.get(day.address))


def test_rock_moves_to_another_post_when_its_number_is_changed(phone: Client, day: Day) -> None:
    day.hands_in(rock=(rock(3, depth_in=20.0, minutes=40),))
    values = page_values(day) | {
        "rock-INITIAL_FORMS": 1,
        "rock-0-was": "3",
        "rock-0-post_number": "4",
        "rock-0-depth_in": "20",
        "rock-0-minutes": "40",
    }
    assert phone.post(day.address, values).status_code == 302
    found = PostRecord.objects.filter(met_rock=True)
    assert [(row.number, row.rock_depth_in, row.rock_min) for row in found] == [(4, 20.0, 40)]


def test_phases_are_ticked_and_those_ticked_meanwhile_stay(phone: Client, day: Day) -> None:
    hang = day.job.phases.get(kind="hang")
    phone.post(day.address, page_values(day, phases=[hang.pk], act="all"))
    kinds = set(day.job.phases.filter(finished_on=DAY).values_list("kind", flat=True))
    assert kinds == {"dig", "set", "hang"}
    # The page was drawn before the last post was ticked: it knows nothing of dig and set.
    phone.post(day.address, page_values(day, phases=[], was_finished=str(hang.pk)))
    kinds = set(day.job.phases.filter(finished_on=DAY).values_list("kind", flat=True))
    assert kinds == {"dig", "set"}


def test_job_without_a_layout_has_no_grid(phone: Client, day: Day) -> None:
    estimate = day.job.proposal.estimate
    estimate.result = {}
    estimate.save()
    page = text_of(phone.get(day.address))
    assert "All posts set" not in page
    answer = phone.post(day.address, page_values(day, pour_time="14:00", bags_used="2"))
    assert answer.status_code == 302
    assert day.report().poured_at is not None
