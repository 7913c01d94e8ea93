"""The firm's own profile."""

from firm.models import FirmProfile


def firm_profile() -> FirmProfile:
    """Return the firm's profile; before it is set up, one with the defaults, not saved."""
    return FirmProfile.objects.filter(pk=1).first() or FirmProfile()
