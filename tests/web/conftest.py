"""Browsers logged in as each role."""

from collections.abc import Callable, Iterator

import pytest
from django.core.signals import request_finished
from django.db import close_old_connections
from django.test import Client

from firm.models import Role, User
from tests.cast import make_person


@pytest.fixture(autouse=True)
def _connection_outlives_a_closed_answer() -> Iterator[None]:
    # An answer with a file ends its request when the test closes it, and Django would then close
    # PostgreSQL's connection with the test's own transaction in it.
    request_finished.disconnect(close_old_connections)
    yield
    request_finished.connect(close_old_connections)


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
