"""The page of skills: what is typed is kept, and every phase is named that asks."""

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from scheduling.models import Crew, CrewMember, PeopleAsked, Skill, SkillAsked

pytestmark = pytest.mark.django_db


@pytest.fixture
def ada() -> CrewMember:
    return CrewMember.objects.create(crew=Crew.objects.create(name="North"), name="Ada")


def page(client: Client) -> str:
    return client.get(reverse("skills")).content.decode()


def test_skill_is_added_given_asked_for_and_dropped(as_office: Client, ada: CrewMember) -> None:
    assert "No skill yet" in page(as_office)
    assert as_office.post(reverse("skills"), {"name": "Welding"}).status_code == 302
    skill = Skill.objects.get()
    ask = {"phase": "gates", "skill": str(skill.pk), "family": "panel"}
    assert as_office.post(reverse("skill_ask"), ask).status_code == 302
    assert "nobody: such work finds no day" in page(as_office)

    edit = reverse("crew_member_edit", args=[ada.pk])
    assert "Welding" in as_office.get(edit).content.decode()
    values = {"name": "Ada", "user": "", "skills": [str(skill.pk)], "is_active": "on"}
    assert as_office.post(edit, values).status_code == 302
    assert list(ada.skills.all()) == [skill]
    forged = as_office.post(edit, values | {"name": "Ada B", "skills": ["9" * 30]})
    assert forged.status_code == 422
    assert "Ada B" in forged.content.decode()
    assert list(ada.skills.all()) == [skill]
    html = page(as_office)
    assert "nobody" not in html
    assert "Ada</a>, North" in html

    drop = reverse("skill_drop", args=[skill.pk])
    assert "Phases still ask for Welding" in as_office.post(drop, follow=True).content.decode()
    asked = SkillAsked.objects.get()
    assert as_office.post(reverse("skill_ask_drop", args=[asked.pk])).status_code == 302
    assert as_office.post(drop).status_code == 302
    assert not Skill.objects.exists()


@pytest.mark.parametrize(
    ("address", "data", "words"),
    [
        ("skills", {"name": "welding"}, "There is a skill of this name already."),
        ("skills", {"name": ""}, "This field is required."),
        ("skills", {"name": "x" * 61}, "at most 60 characters"),
        ("skill_ask", {"phase": "gates", "skill": "1", "family": ""}, "asks for it already"),
        ("skill_ask", {"phase": "hedge", "skill": "1"}, "Select a valid choice"),
        ("skill_ask", {"phase": "gates", "skill": "99"}, "Select a valid choice"),
        ("people_asked", {"people-set": "0"}, "greater than or equal to 1"),
        ("people_asked", {"people-set": "21"}, "less than or equal to 20"),
        ("people_asked", {"people-set": "two"}, "people-set"),
    ],
)
def test_slip_is_said_at_its_field_and_nothing_is_lost(
    as_office: Client, address: str, data: dict[str, str], words: str
) -> None:
    SkillAsked.objects.create(skill=Skill.objects.create(pk=1, name="Welding"), phase="gates")
    answer = as_office.post(reverse(address), data | {"people-dig": "2"})
    html = answer.content.decode()
    assert answer.status_code == 422
    assert words in html
    if typed := data.get("name"):
        assert f'value="{typed}"' in html
    if "people-set" in data:
        assert f'value="{data["people-set"]}"' in html
        assert 'name="people-dig" value="2"' in html
    assert (Skill.objects.count(), SkillAsked.objects.count()) == (1, 1)
    assert not PeopleAsked.objects.exists()


def test_how_many_people_a_phase_asks_for_is_kept(as_office: Client) -> None:
    data = {"people-set": "3", "people-dig": "2", "people-hang": ""}
    assert as_office.post(reverse("people_asked"), data).status_code == 302
    assert {row.phase: row.people for row in PeopleAsked.objects.all()} == {"set": 3, "dig": 2}
    assert 'name="people-set" value="3"' in page(as_office)


def test_page_asks_the_same_however_many_skills_there_are(
    as_office: Client, ada: CrewMember, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(6):
        skill = Skill.objects.create(name=f"Skill {number}")
        skill.members.add(ada)
        SkillAsked.objects.create(skill=skill, phase="gates")
    # Session, person; what is asked, skills with their people; choices, people asked for.
    with django_assert_num_queries(7):
        page(as_office)
