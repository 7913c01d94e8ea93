"""The firm's own profile, and the units it measures in."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from django.db.models import QuerySet

from firm.measure.written import US
from firm.models import FirmProfile


@dataclass(slots=True)
class _Known:
    """What is known of the firm's units while one request is answered."""

    units: str = ""


_known: ContextVar[_Known | None] = ContextVar("known_units", default=None)


def firm_profile() -> FirmProfile:
    """Return the firm's profile; before it is set up, one with the defaults, not saved."""
    return _known_profile(FirmProfile.objects.all())


def firm_at_the_phone() -> FirmProfile:
    """Return the profile with the firm's name, phone and units alone: its texts take longer."""
    return _known_profile(FirmProfile.objects.only("name", "phone", "units"))


def _known_profile(profiles: QuerySet[FirmProfile]) -> FirmProfile:
    found = next(iter(profiles.filter(pk=1)), None) or FirmProfile()
    if known := _known.get():
        known.units = found.units
    return found


def firm_units() -> str:
    """Return the firm's units, read at most once for each request.

    Outside of a request there is no one to write for: lengths are then in feet and inches.
    """
    known = _known.get()
    if known is None:
        return US
    if not known.units:
        row = FirmProfile.objects.filter(pk=1).values_list("units", flat=True).first()
        known.units = row or US
    return known.units


@contextmanager
def units_of_one_request() -> Iterator[None]:
    """Keep the firm's units from when they are first read until the request is answered."""
    token = _known.set(_Known())
    try:
        yield
    finally:
        _known.reset(token)
