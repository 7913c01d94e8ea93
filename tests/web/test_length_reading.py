"""How a typed length is read, said before it is saved."""

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from firm.models import FirmProfile
from tests.factories import make_firm

pytestmark = pytest.mark.django_db


def reading(client: Client, text: str, **more: str) -> dict[str, str]:
    answer = client.get(reverse("length_reading"), {"text": text, **more})
    assert answer.status_code == 200
    found: dict[str, str] = answer.json()
    return found


@pytest.mark.parametrize(
    ("text", "words"),
    [
        # 55 / 12 = 4 ft and 7 in; 8.5 x 12 = 102; 2.45 m = 96.457 in, 96 7/16 on the tape.
        ("55", "4 ft 7 in (55 in)"),
        ("55 ft", "55 ft (660 in)"),
        ("8.5 ft", "8 ft 6 in (102 in)"),
        ("2.45 m", "8 ft 7/16 in (96 7/16 in)"),
        ("7 1/2", "7 1/2 in"),
        ("-55", "minus 4 ft 7 in (55 in)"),
        ("0", "0 in"),
    ],
)
def test_length_is_said_in_feet_and_in_inches(as_office: Client, text: str, words: str) -> None:
    make_firm()
    assert reading(as_office, text) == {"words": words, "problem": ""}


def test_rough_length_of_fence_reads_a_bare_number_as_feet(as_office: Client) -> None:
    make_firm()
    assert reading(as_office, "55", bare="ft")["words"] == "55 ft (660 in)"


def test_metric_firm_reads_metres(as_office: Client) -> None:
    make_firm()
    FirmProfile.objects.update(units="metric")
    assert reading(as_office, "2.45")["words"] == "2.450 m (2450 mm)"
    assert reading(as_office, "2.45", bare="ft")["words"] == "2.450 m (2450 mm)"


@pytest.mark.parametrize("text", ["five", "8-1/2", "", "9" * 500, "9" * 30, "12,5", "8' -3"])
def test_what_is_no_length_is_answered_with_why(as_office: Client, text: str) -> None:
    make_firm()
    found = reading(as_office, text)
    assert found["words"] == ""
    assert found["problem"]


def test_reading_takes_few_queries(
    as_lead: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    make_firm()
    with django_assert_max_num_queries(4):
        reading(as_lead, "55")
