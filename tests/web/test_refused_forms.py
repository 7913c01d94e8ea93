"""Every form of every page, sent full of nonsense and sent empty: 422, nothing typed is lost."""

import re
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import reverse

from firm.models import Role, User
from tests.cast import make_person
from tests.web.answers import body_of
from tests.web.forms_on_pages import FormOnPage, forms_of, what_is_written
from tests.web.test_own_and_foreign import PATTERNS, nothing_kept
from tests.whole_firm import World, make_world

pytestmark = [pytest.mark.django_db, pytest.mark.once]
NONSENSE = "¿qué?"
# What a page with a refused form shows: beside the field, or above the form.
REFUSED = re.compile(r'class="(?:errorlist|[^"]*\bhas-error\b|[^"]*\berror-summary\b)')


@pytest.fixture
def world(owner: User) -> World:
    return make_world(make_person(Role.CREW_LEAD), name="Ours", number=3001)


def addresses(world: World) -> Iterator[str]:
    for pattern in PATTERNS:
        yield reverse(str(pattern.name), kwargs=world.arguments_of(pattern))


def someone(person: User | None) -> Client:
    """Return a browser of its own: one of the forms logs out."""
    client = Client()
    if person:
        client.force_login(person)
    return client


def page_of(person: User | None, address: str) -> str:
    """Return a page, or nothing where the address hands out something else."""
    with nothing_kept():
        answer = someone(person).get(address)
        body = body_of(answer)
    is_page = answer.headers.get("Content-Type", "").startswith("text/html")
    return body.decode() if is_page and answer.status_code == 200 else ""


def forms_for(person: User | None, world: World) -> list[FormOnPage]:
    """Return every form that pages post, once for each address and set of fields."""
    found = {}
    for address in addresses(world):
        for form in forms_of(page_of(person, address)):
            form.action = form.action or address
            found[form.action, tuple(sorted(form.values))] = form
    return list(found.values())


def what_is_wrong(person: User | None, form: FormOnPage, text: str) -> Iterator[str]:
    """Yield what is wrong with the answer to a form with the same text in every field."""
    with nothing_kept():
        answer = someone(person).post(form.action, form.filled(text))
        body = body_of(answer)
    page = body.decode() if "text/html" in answer.headers.get("Content-Type", "") else ""
    if answer.status_code == 200 and REFUSED.search(page):
        yield f"{form.action}: refused with 200"
    if answer.status_code == 422:
        shown = what_is_written(page)
        lost = sorted(name for name in form.written if text not in shown.get(name, set()))
        if lost:
            yield f"{form.action}: lost {', '.join(lost)}"


@pytest.mark.slow
@pytest.mark.parametrize("text", [NONSENSE, ""], ids=["nonsense", "empty"])
def test_refused_form_is_422_and_loses_nothing(owner: User, world: World, text: str) -> None:
    forms = forms_for(owner, world)
    assert len(forms) > 100
    assert [each for form in forms for each in what_is_wrong(owner, form, text)] == []


def test_stranger_s_refused_form_is_422_and_loses_nothing(world: World) -> None:
    forms = forms_for(None, world)
    assert {form.action for form in forms} >= {reverse("login"), reverse("password_reset")}
    assert [each for form in forms for each in what_is_wrong(None, form, NONSENSE)] == []
