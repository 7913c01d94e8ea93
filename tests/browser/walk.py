"""A person at the browser, in the words of the pages: what the walks through the app share."""

from collections.abc import Callable

from playwright.sync_api import Locator, Page, expect


class Person:
    """Someone who works in the app; every page they come to is held to the access rules."""

    def __init__(self, page: Page, axe: Callable[[Page], None]) -> None:
        self.page = page
        self.rules = axe

    def opens(self, address: str) -> None:
        self.page.goto(address)
        self.looks()

    def looks(self) -> None:
        """Hold the page to the accessibility rules."""
        self.rules(self.page)

    def reads(self, words: str) -> None:
        expect(self.page.locator("body")).to_contain_text(words)

    def does_not_read(self, words: str) -> None:
        expect(self.page.locator("body")).not_to_contain_text(words)

    def types(self, **values: str) -> None:
        """Fill fields by the names they are sent with; `__` stands for a hyphen."""
        for name, value in values.items():
            self.field(name.replace("__", "-")).fill(value)

    def chooses(self, **values: str) -> None:
        for name, value in values.items():
            self.field(name.replace("__", "-")).select_option(value)

    def picks(self, name: str, words: str) -> None:
        """Choose the one option of a list that holds these words."""
        option = self.field(name).locator("option", has_text=words)
        self.field(name).select_option(option.get_attribute("value"))

    def field(self, name: str) -> Locator:
        return self.page.locator(f'[name="{name}"]')

    def presses(self, words: str) -> None:
        """Press a button and hold the page that follows to the rules."""
        self.page.get_by_role("button", name=words, exact=True).click()
        self.page.wait_for_load_state()
        self.looks()

    def follows(self, words: str) -> None:
        self.page.get_by_role("link", name=words, exact=True).first.click()
        self.page.wait_for_load_state()
        self.looks()

    def logs_in(self, username: str, password: str) -> None:
        self.opens("/log-in/")
        self.types(username=username, password=password)
        self.presses("Log in")

    def draws(self) -> None:
        """Draw a signature with the finger's pointer."""
        canvas = self.page.locator("[data-signature] canvas")
        canvas.scroll_into_view_if_needed()
        box = canvas.bounding_box()
        assert box
        mouse = self.page.mouse
        mouse.move(box["x"] + 30, box["y"] + 60)
        mouse.down()
        for step in range(1, 6):
            mouse.move(box["x"] + 30 + 40 * step, box["y"] + (30 if step % 2 else 80))
        mouse.up()

    def sees_no_sideways_scroll(self) -> None:
        """The page is no wider than the screen: nothing of it is missed on a phone."""
        assert self.page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
