"""The mail with the link to a password, in the language of whoever reads it."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from firm.models import OutgoingMail, Role, User
from scheduling.models import Crew, CrewMember
from tests.cast import make_person

pytestmark = pytest.mark.django_db
SPANISH = {"Accept-Language": "es-US,es;q=0.9"}
LINK = re.compile(r"http://127\.0\.0\.1:8000(/password/new/\S+)")
IN_ENGLISH = (
    "Hello {name},\n\n"
    "choose a password for your log-in '{login}' here:\n\n"
    "{link}\n\n"
    "The link works once and for three days. If you did not ask for it, leave it: "
    "your password stays as it is."
)
IN_SPANISH = (
    "Hola, {name}:\n\n"
    "elija aquí una contraseña para su usuario «{login}»:\n\n"
    "{link}\n\n"
    "El enlace sirve una sola vez y durante tres días. Si usted no lo pidió, no haga nada: "
    "su contraseña sigue igual."
)


@pytest.fixture
def reader() -> User:
    return make_person(Role.CREW_LEAD, first_name="Ramón", email="ramon@example.com")


def asked_for(person: User, headers: dict[str, str] | None = None) -> OutgoingMail:
    """Ask for a link on the page of forgotten passwords; return the mail."""
    Client().post(reverse("password_reset"), {"email": person.email}, headers=headers or {})
    return OutgoingMail.objects.get(to=person.email)


def written(person: User, mail: OutgoingMail, *texts: str) -> str:
    """Return the body as it is to be, with the link that the mail has."""
    found = LINK.search(mail.body)
    assert found
    values = {"name": person.first_name, "login": person.username, "link": found[0]}
    return "\n\n\n".join(text.format(**values) for text in texts) + "\n"


@pytest.mark.parametrize("own", ["", "es"])
def test_crew_lead_reads_it_as_their_crew_or_they_themselves_do(reader: User, own: str) -> None:
    crew = Crew.objects.create(name="Roja", language="en" if own else "es")
    CrewMember.objects.create(crew=crew, name="Ramón", user=reader, language=own)
    mail = asked_for(reader)
    assert mail.subject == "Elija una contraseña para Firm Footing"
    assert mail.body == written(reader, mail, IN_SPANISH)
    link = LINK.search(mail.body)
    assert link
    assert Client().get(link[1]).status_code == 302


def test_crew_s_language_counts_more_than_that_of_the_browser_it_was_asked_with(
    reader: User,
) -> None:
    Crew.objects.create(name="Red crew", language="en", lead=reader)
    mail = asked_for(reader, SPANISH)
    assert mail.subject == "Choose a password for Firm Footing"
    assert mail.body == written(reader, mail, IN_ENGLISH)


@pytest.mark.parametrize("role", [Role.OWNER, Role.OFFICE])
def test_office_reads_it_in_english(role: Role) -> None:
    person = make_person(role, first_name="June", email="june@example.com")
    mail = asked_for(person, SPANISH)
    assert mail.body == written(person, mail, IN_ENGLISH)


def test_crew_lead_without_a_crew_reads_it_in_the_language_they_asked_in(reader: User) -> None:
    mail = asked_for(reader, SPANISH)
    assert mail.body == written(reader, mail, IN_SPANISH)


def test_new_crew_lead_of_whom_nobody_said_reads_it_in_every_language(
    as_owner: Client, reader: User
) -> None:
    as_owner.post(reverse("user_password_link", args=[reader.pk]), headers=SPANISH)
    mail = OutgoingMail.objects.get(to=reader.email)
    assert mail.subject == (
        "Choose a password for Firm Footing / Elija una contraseña para Firm Footing"
    )
    assert mail.body == written(reader, mail, IN_ENGLISH, IN_SPANISH)


def test_braces_in_a_name_are_written_as_they_are(reader: User) -> None:
    User.objects.filter(pk=reader.pk).update(first_name="{link}")
    reader.refresh_from_db()
    mail = asked_for(reader)
    assert mail.body.startswith("Hello {link},\n")


def test_second_link_waits_whichever_language_the_first_was_written_in(reader: User) -> None:
    crew = Crew.objects.create(name="Roja", language="es", lead=reader)
    asked_for(reader)
    Crew.objects.filter(pk=crew.pk).update(language="en")
    asked_for(reader)
    assert OutgoingMail.objects.get().kind == OutgoingMail.Kind.PASSWORD


def test_another_mail_with_the_same_subject_holds_no_link_back(reader: User) -> None:
    asked_for(reader)
    OutgoingMail.objects.update(kind=OutgoingMail.Kind.OTHER, owner_only=False)
    Client().post(reverse("password_reset"), {"email": reader.email})
    assert OutgoingMail.objects.count() == 2
