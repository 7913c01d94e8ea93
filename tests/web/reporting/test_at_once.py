"""What the page of a day's report keeps as soon as it is done: ticks and photos."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from scheduling.models import AirTemperature, JobPhoto, PostRecord
from tests.firm_cast import picture_bytes
from tests.report_cast import EVENING, Day, gps_bytes, photo, rock, text_of, ticks

pytestmark = pytest.mark.django_db


def test_tick_is_kept_at_once_and_taken_back(phone: Client, day: Day) -> None:
    address = day.address + "posts/"
    page = text_of(phone.post(address, {"number": "7", "posts": ["7"]}))
    assert "1 of 9 set." in page
    assert 'name="was_set" value="7"' in page
    assert 'data-poured="17:00"' in page
    assert "The air is not written down" in page
    page = text_of(phone.post(address, {"number": "7", "posts": []}))
    assert "0 of 9 set." in page
    assert PostRecord.objects.get().set_at is None
    page = text_of(phone.post(address, {"act": "all"}))
    assert "All 9 posts are set." in page
    assert page.count("checked") == 9


def test_air_the_office_wrote_down_is_not_called_unknown(phone: Client, day: Day) -> None:
    AirTemperature.objects.create(
        date=day.date,
        low_f=50,
        high_f=70,
        source=AirTemperature.Source.ENTERED,
        entered_at=EVENING,
    )
    page = text_of(phone.post(day.address + "posts/", {"act": "all"}))
    assert "All 9 posts are set." in page
    assert "The air is not written down" not in page


def test_all_at_once_are_taken_back_but_for_those_ticked_before(phone: Client, day: Day) -> None:
    day.hands_in(posts=ticks(2, 5))
    address = day.address + "posts/"
    page = text_of(phone.post(address, {"act": "all", "was_set": "2,5"}))
    assert "Take these 7 ticks back" in page
    assert '"number": "1,3,4,6,7,8,9"' in page
    page = text_of(phone.post(address, {"act": "take_back", "number": "1,3,4,6,7,8,9"}))
    assert "2 of 9 set." in page
    assert "All posts set" in page
    assert set(PostRecord.objects.exclude(set_at=None).values_list("number", flat=True)) == {2, 5}
    assert not day.job.phases.filter(finished_on__isnull=False).exists()


@pytest.mark.parametrize("number", ["", "0", "99", "-1", "seven", "9" * 40])
def test_tick_of_no_post_is_refused(phone: Client, day: Day, number: str) -> None:
    answer = phone.post(day.address + "posts/", {"number": number, "posts": [number]})
    assert answer.status_code == 422
    assert 'role="alert"' in text_of(answer)
    assert not PostRecord.objects.exists()


def test_photos_are_kept_at_once(phone: Client, day: Day) -> None:
    address = day.address + "photos/"
    values = {"photo_subject": "rock", "photo_post": "3", "photo_note": "ledge"}
    answer = phone.post(address, values | {"photos": [photo(gps_bytes()), photo(picture_bytes())]})
    page = text_of(answer)
    assert "2 photos kept." in page
    assert "Rock, post 3: ledge" in page
    assert "42.65515" in page
    assert "This was kept before." in text_of(
        phone.post(address, values | {"photos": [photo(gps_bytes())]})
    )


def test_sound_photo_is_kept_beside_one_that_is_no_picture(phone: Client, day: Day) -> None:
    address = day.address + "photos/"
    values = {"photo_subject": "rock", "photo_post": "3", "photo_note": "ledge"}
    handed_in = [photo(b"words", "notes.jpg"), photo(gps_bytes())]
    answer = phone.post(address, values | {"photos": handed_in})
    page = text_of(answer)
    assert answer.status_code == 422
    assert "notes.jpg is no JPEG or PNG picture" in page
    assert 'value="ledge"' in page
    assert "1 photo kept." in page
    assert JobPhoto.objects.get().original_name == "IMG_1.jpg"


@pytest.mark.parametrize("post", ["12", "-1", "seven"])
def test_photos_stay_chosen_when_their_post_is_wrong(phone: Client, day: Day, post: str) -> None:
    values = {"photo_subject": "rock", "photo_post": post, "photos": [photo(gps_bytes())]}
    answer = phone.post(day.address + "photos/", values)
    page = text_of(answer)
    assert answer.status_code == 422
    assert 'id="id_photo_post_error"' in page
    assert f'value="{post}"' in page
    # The script puts the files back into their field, which a server can't.
    assert "data-keep-files" in page
    assert not JobPhoto.objects.exists()


def test_tick_asks_the_database_as_often_late_as_early(phone: Client, day: Day) -> None:
    address = day.address + "posts/"
    phone.post(address, {"number": "1", "posts": ["1"]})
    asked = []
    for number in ("2", "8"):
        with CaptureQueriesContext(connection) as taken:
            assert phone.post(address, {"number": number, "posts": [number]}).status_code == 200
        asked.append(len(taken))
        day.hands_in(posts=ticks(3, 4, 5, 6), rock=(rock(3), rock(4, row=1)))
    early, late = asked
    assert late <= early
    assert early <= 55
