"""The browser tests' own net: it must catch what it is there to catch."""

from collections.abc import Callable

import pytest
from django.http import HttpRequest, HttpResponse
from django.urls import path
from playwright.sync_api import Page

from firm.urls import urlpatterns as project_urls
from tests.browser.conftest import Complaints

pytestmark = [pytest.mark.browser, pytest.mark.urls(__name__)]

CLEAN = (
    "<!doctype html><html lang=en><link rel=icon href=data:,><title>T</title>"
    "<main><h1>T</h1>{}</main></html>"
)


def clean(request: HttpRequest) -> HttpResponse:
    return HttpResponse(CLEAN.format("<p>Nothing wrong."))


def inline_script(request: HttpRequest) -> HttpResponse:
    return HttpResponse(CLEAN.format("<script>document.title = 'taken over'</script>"))


def unlabelled(request: HttpRequest) -> HttpResponse:
    return HttpResponse(CLEAN.format("<input name=height>"))


urlpatterns = [
    *project_urls,
    path("clean", clean),
    path("inline-script", inline_script),
    path("unlabelled", unlabelled),
]


def test_clean_page_passes(page: Page, axe: Callable[[Page], None]) -> None:
    page.goto("/clean")
    axe(page)


def test_inline_script_is_blocked_reported_and_heard(page: Page, complaints: Complaints) -> None:
    page.goto("/inline-script")
    with page.expect_request("**/csp-report"):
        page.reload()

    assert page.title() == "T"
    assert any("Policy report" in heard for heard in complaints.heard)
    assert any(heard.startswith("console:") for heard in complaints.heard)
    # Heard as meant; without this line the test itself would fail, as any other would.
    complaints.expect("Content Security Policy|Policy report")


@pytest.mark.slow
def test_field_without_a_label_fails_the_page(page: Page, axe: Callable[[Page], None]) -> None:
    page.goto("/unlabelled")
    with pytest.raises(AssertionError, match='label: <input name="height">'):
        axe(page)
