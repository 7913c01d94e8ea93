"""The main navigation: which links a person sees, and which one is the page they are on."""

from dataclasses import dataclass
from typing import Literal

from django import template
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext

from firm.measure.said import Said
from firm.selectors.languages import other_languages, spoken_now

register = template.Library()

LINKS = (
    ("Today", "home"),
    (Said("Days"), "my_days"),
    ("Enquiries", "enquiries"),
    ("Customers", "customers"),
    (Said("Sites"), "sites"),
    ("Estimates", "estimates"),
    ("Proposals", "proposals"),
    (Said("Jobs"), "jobs"),
    ("Calendar", "week"),
    ("Buying", "buying"),
    ("Invoices", "invoices"),
    ("Price book", "price_book"),
    ("Settings", "firm_settings"),
    ("Mail", "mails"),
)
# Pages that stand under Settings for the owner, who has no link of their own to them.
UNDER_SETTINGS = ("/mail/", "/jurisdictions/")
UNDER_CALENDAR = (
    "/crews/",
    "/crew-members/",
    "/crew-days/",
    "/days-off/",
    "/machines/",
    "/time-off/",
    "/skills/",
    "/holidays/",
)
UNDER_BUYING = ("/orders/", "/yard/")
UNDER_JOBS = ("/margins/", "/job-costs/")
# The others reach a crew's days from the calendar.
CREW_LEAD_LINKS = frozenset({"Days", "Sites", "Jobs"})
OWNER_LINKS = frozenset({"Settings"})


@dataclass(frozen=True, kw_only=True, slots=True)
class NavigationLink:
    """One link; `current_word` tells whether it is this very page or the part it lies in."""

    name: str
    address: str
    is_current: bool
    current_word: Literal["page", "true"]


@register.simple_tag(takes_context=True)
def navigation_links(context: template.Context) -> list[NavigationLink]:
    """Return the links for the person who is logged in."""
    request = context.get("request")
    if not isinstance(request, HttpRequest):
        return []
    role = str(getattr(request.user, "role", ""))
    return [_link(name, url_name, request.path) for name, url_name in LINKS if _sees(role, name)]


@register.simple_tag
def page_language() -> str:
    """Return the language that the page is written in, for screen readers and hyphens."""
    return spoken_now()


@register.simple_tag(takes_context=True)
def reader_languages(context: template.Context) -> list[tuple[str, str, str]]:
    """Return links to this page in other languages, for a crew lead; the office reads English."""
    request = context.get("request")
    if not isinstance(request, HttpRequest) or getattr(request.user, "role", "") != "crew_lead":
        return []
    return other_languages(request.GET, spoken_now())


def _sees(role: str, name: str) -> bool:
    if role == "crew_lead":
        return name in CREW_LEAD_LINKS
    if name == "Days":
        return False
    # The owner reaches the mails from the settings.
    return name != "Mail" if role == "owner" else name not in OWNER_LINKS


def _link(name: str, url_name: str, path: str) -> NavigationLink:
    try:
        address = reverse(url_name)
    except NoReverseMatch:
        address = "/"
    is_page = path == address
    return NavigationLink(
        name=gettext(name),
        address=address,
        is_current=is_page or _lies_in(name, address, path),
        current_word="page" if is_page else "true",
    )


def _lies_in(name: str, address: str, path: str) -> bool:
    if name == "Settings" and path.startswith(UNDER_SETTINGS):
        return True
    if name == "Calendar" and path.startswith(UNDER_CALENDAR):
        return True
    if name == "Buying" and path.startswith(UNDER_BUYING):
        return True
    if name == "Jobs" and path.startswith(UNDER_JOBS):
        return True
    return address != "/" and path.startswith(address)
