"""A real Chromium on a live server; a page's every complaint fails its test."""

import datetime as dt
import logging
import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import Browser, Page, ViewportSize, sync_playwright
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer

# Playwright keeps an event loop in the test's thread, where Django then refuses its database.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

CHROMIUM = Path("/usr/bin/chromium")
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
DESK = ViewportSize(width=1280, height=900)
PHONE = ViewportSize(width=390, height=844)
# WCAG 2.2 AA (W3C Recommendation, October 2023) and the good practice of the rules' makers.
AXE_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@dataclass
class Complaints:
    """What a page complained of, less what its test expects."""

    heard: list[str] = field(default_factory=list)
    expected: list[str] = field(default_factory=list)

    def expect(self, pattern: str) -> None:
        """Let complaints that match `pattern` pass: a page that is meant to answer 403, say."""
        self.expected.append(pattern)

    def unexpected(self) -> list[str]:
        return [
            complaint
            for complaint in self.heard
            if not any(re.search(pattern, complaint) for pattern in self.expected)
        ]


class _IntoComplaints(logging.Handler):
    def __init__(self, complaints: Complaints) -> None:
        super().__init__()
        self.complaints = complaints

    def emit(self, record: logging.LogRecord) -> None:
        self.complaints.heard.append(record.getMessage())


@dataclass
class Clock:
    """The server's clock, which a walk of several days can put forward."""

    ahead: dt.timedelta = dt.timedelta(0)

    def goes_to(self, day: dt.date, hour: int, minute: int = 0) -> None:
        """Make it this hour of this day in the firm's time zone."""
        here = timezone.get_current_timezone()
        wanted = dt.datetime.combine(day, dt.time(hour, minute), tzinfo=here)
        self.ahead += wanted - timezone.now()


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """Return the clock that every page of the server reads."""
    clock, really_now = Clock(), timezone.now
    monkeypatch.setattr(timezone, "now", lambda: really_now() + clock.ahead)
    return clock


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not CHROMIUM.exists():
        pytest.fail(f"{CHROMIUM} is missing: bin/test installs it.")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture
def complaints() -> Iterator[Complaints]:
    """Collect policy reports, and at the end fail the test on any complaint."""
    complaints = Complaints()
    reports = logging.getLogger("firm.csp")
    handler = _IntoComplaints(complaints)
    reports.addHandler(handler)
    yield complaints
    reports.removeHandler(handler)
    assert complaints.unexpected() == []


@pytest.fixture
def open_page(
    browser: Browser, live_server: LiveServer, settings: Settings, complaints: Complaints
) -> Iterator[Callable[..., Page]]:
    """Return a function that opens a page in a browser profile of its own."""
    settings.FF_PUBLIC_URL = live_server.url
    contexts = []

    def open_one(viewport: ViewportSize = DESK) -> Page:
        context = browser.new_context(
            base_url=live_server.url, viewport=viewport, accept_downloads=True
        )
        context.set_default_timeout(10_000)
        contexts.append(context)
        page = context.new_page()
        page.on(
            "console",
            lambda message: (
                complaints.heard.append(f"console: {message.text} ({page.url})")
                if message.type == "error"
                else None
            ),
        )
        page.on("pageerror", lambda error: complaints.heard.append(f"page: {error} ({page.url})"))
        return page

    yield open_one
    for context in contexts:
        context.close()


@pytest.fixture
def page(open_page: Callable[..., Page]) -> Page:
    """A page as wide as a desk's screen."""
    return open_page()


@pytest.fixture
def phone_page(open_page: Callable[..., Page]) -> Page:
    """A page as wide as a phone."""
    return open_page(PHONE)


# A page that reads as one before it, to the numbers and random letters in it, has passed.
SHAPE = """(whole) => whole.outerHTML
  .replace(/csrf[^>]*/gi, "").replace(/\\d+/g, "0") + window.innerWidth"""


@pytest.fixture
def axe(pytestconfig: pytest.Config) -> Callable[[Page], None]:
    """Return a function that fails on any breach of the accessibility rules on a page.

    Within a test a page is looked at once, however often the test comes to it. A run that leaves
    the slow tests out leaves this out too: it takes half of the time of the main job's walk.
    """
    if pytestconfig.getoption("markexpr") == "not slow":
        return lambda page: page.wait_for_load_state()
    passed: set[int] = set()
    options = {"runOnly": {"type": "tag", "values": AXE_TAGS}, "resultTypes": ["violations"]}

    def check(page: Page) -> None:
        page.wait_for_load_state()
        shape = hash(page.locator("html").evaluate(SHAPE))
        if shape in passed:
            return
        results = Axe().run(page, options=options)
        breaches = [
            f"{rule['id']}: {node['html']}"
            for rule in results.response["violations"]
            for node in rule["nodes"]
        ]
        assert breaches == [], f"{page.url} breaches accessibility rules"
        passed.add(shape)

    return check
