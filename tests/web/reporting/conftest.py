"""A crew lead's phone on the evening of a day at a job, with which every test of reports begins."""

from collections.abc import Iterator
from unittest.mock import patch

import pytest
from django.test import Client

from firm.models import Role, User
from tests.cast import make_person
from tests.report_cast import EVENING, Day, make_day


@pytest.fixture(autouse=True)
def _evening() -> Iterator[None]:
    """Let it be 17:00 in New York on the day that is reported."""
    with patch("django.utils.timezone.now", return_value=EVENING):
        yield


@pytest.fixture
def lead() -> User:
    return make_person(Role.CREW_LEAD)


@pytest.fixture
def day(lead: User) -> Day:
    return make_day(lead)


@pytest.fixture
def phone(lead: User) -> Client:
    client = Client()
    client.force_login(lead)
    return client
