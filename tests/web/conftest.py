"""Browsers logged in as each role."""

from collections.abc import Callable

import pytest
from django.test import Client

from firm.models import Role, User
from scheduling.models import Crew, CrewMember
from tests.cast import make_person
from tests.factories import make_firm


@pytest.fixture
def owner(db: None) -> User:
    return make_person(Role.OWNER)


@pytest.fixture
def as_role(owner: User) -> Callable[[Role | None], Client]:
    """Return a maker of clients: logged in with a role, or a stranger for None."""

    def make(role: Role | None) -> Client:
        client = Client()
        if role is not None:
            client.force_login(owner if role == Role.OWNER else make_person(role))
        return client

    return make


@pytest.fixture
def as_owner(as_role: Callable[[Role | None], Client]) -> Client:
    return as_role(Role.OWNER)


@pytest.fixture
def as_office(as_role: Callable[[Role | None], Client]) -> Client:
    return as_role(Role.OFFICE)


@pytest.fixture
def lead(db: None) -> User:
    make_firm()
    return make_person(Role.CREW_LEAD)


@pytest.fixture
def red_crew(lead: User) -> Crew:
    """Return the crew lead's crew: one who works and one who left."""
    row = Crew.objects.create(name="Red crew", lead=lead)
    CrewMember.objects.create(crew=row, name="Ada Quill")
    CrewMember.objects.create(crew=row, name="Bo Tarn", is_active=False)
    return row


@pytest.fixture
def as_lead(lead: User) -> Client:
    client = Client()
    client.force_login(lead)
    return client
