"""Pages of crews and machines: what is typed is kept, and costs are the owner's alone."""

import datetime as dt
import re
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from firm.models import Role, User
from scheduling.models import Crew, CrewDaysOff, CrewMember, Machine, MemberTimeOff
from tests.crew_cast import give_to_crew_of
from tests.factories import TODAY
from tests.job_cast import make_fence_job

pytestmark = pytest.mark.django_db
CREW = {
    "name": "North",
    "lead": "",
    "day_start": "06:30",
    "hours_per_day": "8.5",
    "language": "es",
    "weekdays": ["0", "1", "2", "5"],
    "is_active": "on",
}


@pytest.fixture
def crew(db: None) -> Crew:
    return Crew.objects.create(name="South")


def test_office_adds_a_crew(as_office: Client) -> None:
    answer = as_office.post(reverse("crew_new"), CREW)
    made = Crew.objects.get()
    assert answer.status_code == 302
    assert answer.headers["Location"] == reverse("crew_edit", args=[made.pk])
    assert (made.day_start, made.hours_per_day) == (dt.time(6, 30), Decimal("8.50"))
    assert (made.weekdays, made.language) == ("0125", "es")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"name": "South"}, "There is a crew of this name already."),
        ({"weekdays": []}, "Choose at least one working day."),
        ({"hours_per_day": "25"}, "less than or equal to 24"),
        ({"day_start": "18:00"}, "The day would run past midnight."),
        ({"day_start": "seven"}, "Enter a valid time."),
    ],
)
def test_slip_in_a_new_crew_is_said_and_the_rest_kept(
    as_office: Client, crew: Crew, changes: dict[str, str | list[str]], words: str
) -> None:
    answer = as_office.post(reverse("crew_new"), CREW | {"name": "Kept Name"} | changes)
    assert answer.status_code == 422
    html = answer.content.decode()
    assert words in html
    assert f'value="{changes.get("name", "Kept Name")}"' in html
    assert Crew.objects.count() == 1


def test_every_box_of_the_working_days_is_tied_to_what_is_wrong(
    as_office: Client, crew: Crew
) -> None:
    html = as_office.post(reverse("crew_new"), CREW | {"weekdays": []}).content.decode()
    boxes = re.findall(r'<input type="checkbox" name="weekdays"[^>]*>', html)
    assert len(boxes) == 7
    assert all('aria-describedby="id_weekdays_error"' in box for box in boxes)
    assert html.count('id="id_weekdays_error"') == 1
    fresh = as_office.get(reverse("crew_new")).content.decode()
    assert "id_weekdays_error" not in fresh


def test_crew_with_days_ahead_stays_in_use(as_owner: Client, owner: User) -> None:
    block = give_to_crew_of(owner, make_fence_job(), on=dt.date(2199, 1, 1))
    values = {name: value for name, value in CREW.items() if name != "is_active"}
    answer = as_owner.post(reverse("crew_edit", args=[block.crew_id]), values)
    assert answer.status_code == 422
    assert "1 day on the calendar" in answer.content.decode()
    block.crew.refresh_from_db()
    assert block.crew.is_active


def test_only_leads_and_owners_can_be_chosen(
    as_role: Callable[[Role | None], Client], as_owner: Client
) -> None:
    as_role(Role.OFFICE)
    as_role(Role.CREW_LEAD)
    html = as_owner.get(reverse("crew_new")).content.decode()
    assert "Crew lead (crew lead)" in html
    assert "Owner (owner)" in html
    assert "(office)" not in html


class TestWhatAnHourCosts:
    @pytest.fixture
    def member(self, crew: Crew) -> CrewMember:
        return CrewMember.objects.create(crew=crew, name="Ada", hourly_cost=Decimal("41.37"))

    def test_owner_sees_and_sets_it(self, as_owner: Client, member: CrewMember) -> None:
        for name, row in (("crew_edit", member.crew_id), ("crew_member_edit", member.pk)):
            assert "41.37" in as_owner.get(reverse(name, args=[row])).content.decode()
        answer = as_owner.post(
            reverse("crew_member_edit", args=[member.pk]),
            {"name": "Ada", "user": "", "hourly_cost": "$44.00", "is_active": "on"},
        )
        member.refresh_from_db()
        assert (answer.status_code, member.hourly_cost) == (302, Decimal(44))

    def test_office_neither_sees_nor_sets_it(self, as_office: Client, member: CrewMember) -> None:
        pages = [
            reverse("crews"),
            reverse("crew_edit", args=[member.crew_id]),
            reverse("crew_member_edit", args=[member.pk]),
            reverse("crew_member_add", args=[member.crew_id]),
        ]
        for page in pages:
            html = as_office.get(page).content.decode()
            assert "41.37" not in html
            assert "hourly_cost" not in html
        as_office.post(
            reverse("crew_member_edit", args=[member.pk]),
            {"name": "Ada Linden", "user": "", "hourly_cost": "1.00", "is_active": "on"},
        )
        member.refresh_from_db()
        assert (member.name, member.hourly_cost) == ("Ada Linden", Decimal("41.37"))

    def test_wrong_amount_is_refused_and_kept(self, as_owner: Client, member: CrewMember) -> None:
        answer = as_owner.post(
            reverse("crew_member_edit", args=[member.pk]),
            {"name": "Ada", "hourly_cost": "forty", "is_active": "on"},
        )
        assert answer.status_code == 422
        assert 'value="forty"' in answer.content.decode()


def test_days_off_are_added_changed_and_taken_away(as_office: Client, crew: Crew) -> None:
    add = reverse("days_off_add", args=[crew.pk])
    values = {"first_day": "2199-06-10", "last_day": "2199-06-14", "reason": "Training"}
    assert as_office.post(add, values).status_code == 302
    row = CrewDaysOff.objects.get()

    overlap = as_office.post(add, values | {"first_day": "2199-06-14", "last_day": "2199-06-15"})
    assert overlap.status_code == 422
    assert "is off already from Jun 10, 2199 to Jun 14, 2199." in overlap.content.decode()
    backwards = as_office.post(add, values | {"first_day": "2199-07-02", "last_day": "2199-07-01"})
    assert backwards.status_code == 422
    assert "The last day comes before the first." in backwards.content.decode()
    assert 'value="Training"' in backwards.content.decode()

    edit = reverse("days_off_edit", args=[row.pk])
    assert 'value="2199-06-10"' in as_office.get(edit).content.decode()
    assert as_office.post(edit, values | {"last_day": "2199-06-11"}).status_code == 302
    assert "Jun 11, 2199" in as_office.get(reverse("crew_edit", args=[crew.pk])).content.decode()
    assert as_office.post(reverse("days_off_drop", args=[row.pk])).status_code == 302
    assert not CrewDaysOff.objects.exists()


def test_days_off_over_planned_work_are_taken_with_a_warning(as_owner: Client, owner: User) -> None:
    block = give_to_crew_of(owner, make_fence_job(), on=TODAY)
    values = {"first_day": TODAY.isoformat(), "last_day": TODAY.isoformat(), "reason": ""}
    add = reverse("days_off_add", args=[block.crew_id])
    answer = as_owner.post(add, values, follow=True)
    assert "1 piece of work stands on the calendar in this time" in answer.content.decode()


def test_time_off_is_added_changed_and_taken_away(as_office: Client, crew: Crew) -> None:
    ada = CrewMember.objects.create(crew=crew, name="Ada")
    add = reverse("time_off_add", args=[ada.pk])
    values = {"first_day": "2199-06-10", "last_day": "2199-06-14", "reason": "Moving house"}
    assert as_office.post(add, values).status_code == 302
    row = MemberTimeOff.objects.get()
    for wrong, words in (
        ({"last_day": "2199-06-09"}, "The last day comes before the first."),
        ({"first_day": "2199-06-14", "last_day": "2199-06-15"}, "off already from Jun 10, 2199"),
        ({"first_day": "2190-06-10"}, "up to 366 at a time"),
        ({"first_day": "soon"}, "Enter a valid date."),
    ):
        answer = as_office.post(add, values | wrong)
        assert answer.status_code == 422
        assert words in answer.content.decode()
        assert 'value="Moving house"' in answer.content.decode()
    edit = reverse("time_off_edit", args=[row.pk])
    assert as_office.post(edit, values | {"last_day": "2199-06-11"}).status_code == 302
    for name, pk in (("crew_member_edit", ada.pk), ("crew_edit", crew.pk)):
        assert "Jun 11" in as_office.get(reverse(name, args=[pk])).content.decode()
    assert as_office.post(reverse("time_off_drop", args=[row.pk])).status_code == 302
    assert not MemberTimeOff.objects.exists()


def test_week_and_month_name_who_is_off_and_not_why(as_office: Client, crew: Crew) -> None:
    ada, _ = (CrewMember.objects.create(crew=crew, name=name) for name in ("Ada", "Bo"))
    monday = dt.date(2199, 6, 10)
    MemberTimeOff.objects.create(member=ada, first_day=monday, last_day=monday, reason="Clinic")
    for address in ("week", "month"):
        query = {"from": "2199-06-10"} if address == "week" else {"month": "2199-06"}
        html = as_office.get(reverse(address), query).content.decode()
        assert "1 of 2 there: Ada off" in html
        assert "Clinic" not in html


def test_machines_are_added_and_changed(as_office: Client) -> None:
    values = {"name": "Mini-loader", "dig_method": "mini_loader", "owned": "1"}
    assert as_office.post(reverse("machine_new"), values).status_code == 302
    row = Machine.objects.get()
    edit = reverse("machine_edit", args=[row.pk])
    for wrong in ({"owned": "0"}, {"owned": "-2"}, {"dig_method": "hand"}, {"name": ""}):
        assert as_office.post(edit, values | wrong).status_code == 422
    assert as_office.post(edit, values | {"owned": "2"}).status_code == 302
    row.refresh_from_db()
    assert row.owned == 2


def test_pages_of_crews_ask_the_same_however_many_there_are(
    as_owner: Client, crew: Crew, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(6):
        one = Crew.objects.create(name=f"Crew {number}")
        CrewMember.objects.create(crew=one, name="Ada")
        CrewMember.objects.create(crew=crew, name=f"Ada {number}")
        day = dt.date(2199, 1, 1 + number)
        CrewDaysOff.objects.create(crew=crew, first_day=day, last_day=day)
    # Session, person; crews, members, machines.
    with django_assert_num_queries(5):
        as_owner.get(reverse("crews"))
    # Session, person; the crew twice (kept, and as the form changes it), leads, members with their
    # time off, days off.
    with django_assert_num_queries(8):
        as_owner.get(reverse("crew_edit", args=[crew.pk]))


def test_machine_that_can_be_rented_is_shown_with_its_rate(as_office: Client) -> None:
    values = {"name": "Auger", "owned": "1", "is_rentable": "on", "day_rate": "$185"}
    assert as_office.post(reverse("machine_new"), values).status_code == 302
    row = Machine.objects.get()
    assert row.is_rentable
    assert str(row.day_rate) == "185.00"
    assert "$185.00 a day" in as_office.get(reverse("crews")).content.decode()
    refused = as_office.post(reverse("machine_new"), values | {"name": "B", "day_rate": "-1"})
    assert refused.status_code == 422
