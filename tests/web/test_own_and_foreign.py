"""Every address x every role x own or foreign rows: who gets an answer, and who learns nothing.

The addresses come from the URL configuration, their rules from the one table of `test_page_rules`.
"""

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape

import pypdf
import pytest
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.test import Client
from django.urls import URLPattern, path, reverse

from firm.models import Role, User
from tests.cast import make_person
from tests.web.answers import body_of
from tests.web.test_page_rules import EVERYONE, RULES, STRANGER, named_patterns
from tests.whole_firm import PAY_RATE, World, make_world

pytestmark = [pytest.mark.django_db, pytest.mark.once]
METHODS = ("get", "post")
PATTERNS = [pattern for pattern in named_patterns() if pattern.name]


@pytest.fixture
def people(owner: User) -> dict[Role | None, User]:
    """Return one person of each role; the crew lead is the one whose world is there."""
    office, lead = make_person(Role.OFFICE), make_person(Role.CREW_LEAD)
    return {Role.OWNER: owner, Role.OFFICE: office, Role.CREW_LEAD: lead}


@pytest.fixture
def own(people: dict[Role | None, User]) -> World:
    return make_world(people[Role.CREW_LEAD], name="Ours", number=3001)


@pytest.fixture
def foreign(db: None) -> World:
    other = make_person(Role.CREW_LEAD, username="other_lead")
    return make_world(other, name="Theirs", number=4001)


@contextmanager
def nothing_kept() -> Iterator[None]:
    """Take back what a request wrote, so that the next finds things as they were."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def asked(person: User | None, method: str, pattern: URLPattern, world: World) -> HttpResponseBase:
    """Return the answer that a person gets who logged in a moment ago."""
    address = reverse(str(pattern.name), kwargs=world.arguments_of(pattern))
    with nothing_kept():
        client = Client()
        if person is not None:
            client.force_login(person)
        answer: HttpResponseBase = getattr(client, method)(address)
        body_of(answer)
    return answer


def may_be_foreign(pattern: URLPattern) -> bool:
    """Say whether an address is of rows that only some of those with the role may see."""
    return RULES[str(pattern.name)] == EVERYONE and bool(pattern.pattern.converters)


def wrong_answers(
    people: dict[Role | None, User],
    role: Role | None,
    world: World,
    patterns: list[URLPattern],
    *,
    is_own: bool,
) -> list[str]:
    """Return what is wrong with what a role gets at addresses."""
    wrong = []
    for pattern in patterns:
        answers = [asked(people.get(role), method, pattern, world) for method in METHODS]
        got, right = {answer.status_code for answer in answers}, expected(role, pattern, is_own)
        if not got <= right or got == {405}:
            wrong.append(f"{pattern.name}: {got} where {right} is right")
        to_log_in = {is_sent_to_log_in(answer) for answer in answers}
        if RULES[str(pattern.name)] and to_log_in != {role is STRANGER}:
            wrong.append(f"{pattern.name}: log-in is for strangers")
    return wrong


def is_sent_to_log_in(answer: HttpResponseBase) -> bool:
    return answer.headers.get("Location", "").partition("?")[0] == reverse("login")


def expected(role: Role | None, pattern: URLPattern, is_own: bool) -> set[int]:
    """Return the answers that are right for a role at an address."""
    roles = RULES[str(pattern.name)]
    if roles is None:
        # It guards itself: by a token, or by having no secrets.
        return {200, 301, 302, 400, 404, 405, 422}
    if role is STRANGER:
        return {302}
    if role not in roles:
        return {403}
    if not is_own and role == Role.CREW_LEAD and may_be_foreign(pattern):
        return {404, 405}
    return {200, 302, 405, 409, 422}


@pytest.mark.parametrize(
    "role",
    # Who may open nearly everything takes longest; their rules are asked by `test_page_rules` too.
    [
        STRANGER,
        Role.CREW_LEAD,
        *(pytest.param(role, marks=pytest.mark.slow) for role in Role if role != Role.CREW_LEAD),
    ],
    ids=lambda role: role or "stranger",
)
def test_each_role_at_every_address_of_own_rows(
    people: dict[Role | None, User], own: World, role: Role | None
) -> None:
    assert wrong_answers(people, role, own, PATTERNS, is_own=True) == []


@pytest.mark.parametrize("role", [STRANGER, *Role], ids=lambda role: role or "stranger")
def test_each_role_at_every_address_of_another_crew_s_rows(
    people: dict[Role | None, User], own: World, foreign: World, role: Role | None
) -> None:
    # The office's rows belong to no crew: they are asked for above.
    patterns = [pattern for pattern in PATTERNS if may_be_foreign(pattern)]
    assert len(patterns) >= 15
    assert wrong_answers(people, role, foreign, patterns, is_own=False) == []


def test_address_of_something_new_must_have_a_row_here(own: World) -> None:
    def view(_request: HttpRequest) -> HttpResponse:
        return HttpResponse()

    unknown = path("ladders/<int:pk>/", view, name="ladder")
    with pytest.raises(KeyError, match="ladders/"):
        own.arguments_of(unknown)
    unknown = path("jobs/<int:pk>/ladders/<int:ladder>/", view, name="ladder")
    with pytest.raises(KeyError, match="ladder"):
        own.arguments_of(unknown)


def test_own_and_foreign_in_one_address_is_foreign(
    people: dict[Role | None, User], own: World, foreign: World
) -> None:
    client = Client()
    client.force_login(people[Role.CREW_LEAD])
    mixed = [pattern for pattern in PATTERNS if may_be_foreign(pattern)]
    mixed = [pattern for pattern in mixed if len(pattern.pattern.converters) > 1]
    # Day, sheet, its PDF, report and its parts, a change to sign, a tick.
    assert len(mixed) >= 7
    wrong = []
    for pattern in mixed:
        mine, theirs = own.arguments_of(pattern), foreign.arguments_of(pattern)
        for name in mine.keys() - {"date", "number"}:
            address = reverse(str(pattern.name), kwargs=mine | {name: theirs[name]})
            wrong += [
                (pattern.name, name)
                for method in METHODS
                if getattr(client, method)(address).status_code not in {404, 405}
            ]
    assert wrong == []


def test_lists_of_a_crew_lead_name_nothing_of_another_crew(
    people: dict[Role | None, User], own: World, foreign: World
) -> None:
    pages = everything_shown_to(people, Role.CREW_LEAD, own)
    assert "Ours" in pages["jobs"] + pages["sites"]
    assert [name for name, text in pages.items() if foreign.name in text] == []


def test_crew_lead_is_shown_no_price(people: dict[Role | None, User], own: World) -> None:
    pages = everything_shown_to(people, Role.CREW_LEAD, own)
    assert set(pages) >= {"job", "day_sheet", "day_sheet_pdf", "day_report", "ground", "site"}
    assert "Ours" in pages["day_sheet_pdf"]
    # Here the customer signs for a change with its price, on the crew lead's phone: that one
    # price, 120.00 and its tax, and nothing of what it costs the firm.
    to_sign = pages.pop("change_sign")
    assert "$120.00" in to_sign
    forbidden = re.compile(r"\$\s?\d|hourly_cost|margin", re.IGNORECASE)
    found = {name: forbidden.findall(text) for name, text in pages.items()}
    assert {name: words for name, words in found.items() if words} == {}
    hidden = re.compile(rf"{re.escape(PAY_RATE)}|5,?[01]00\.00|3,?153\.33|margin", re.IGNORECASE)
    assert [name for name, text in (pages | {"": to_sign}).items() if hidden.search(text)] == []


@pytest.mark.slow
def test_office_is_shown_no_pay_rate_and_no_job_s_margin(
    people: dict[Role | None, User], own: World
) -> None:
    pages = everything_shown_to(people, Role.OFFICE, own)
    forbidden = re.compile(rf"{re.escape(PAY_RATE)}|hourly_cost|/margins?/")
    assert len(pages) >= 60
    assert [name for name, text in pages.items() if forbidden.search(text)] == []
    # The owner's pages show both, so that the search above is one that finds.
    owners = everything_shown_to(people, Role.OWNER, own)
    assert PAY_RATE in owners["crew_member_edit"]
    assert "/margin/" in owners["job"]


def everything_shown_to(
    people: dict[Role | None, User], role: Role, world: World
) -> dict[str, str]:
    """Return the text of every page and PDF that a role may open, by name."""
    shown = {}
    for pattern in PATTERNS:
        if role not in (RULES[str(pattern.name)] or ()):
            continue
        answer = asked(people[role], "get", pattern, world)
        if answer.status_code != 200:
            continue
        content = body_of(answer)
        if content.startswith(b"%PDF-"):
            pages = pypdf.PdfReader(io.BytesIO(content)).pages if len(content) > 1000 else []
            shown[str(pattern.name)] = "\n".join(page.extract_text() for page in pages)
        elif answer.headers["Content-Type"].startswith(("text/", "application/json")):
            shown[str(pattern.name)] = unescape(content.decode())
    return shown
