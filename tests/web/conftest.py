"""Browsers logged in as each role."""

from collections.abc import Callable

import pytest
from django.test import Client

from firm.models import Role, User
from tests.cast import make_person


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
