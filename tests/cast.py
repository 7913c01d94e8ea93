"""The people tests are played with: one of each role, and a firm set up for them."""

import datetime as dt
from typing import Any

from firm.models import FirmProfile, Role, User

PASSWORD = "tall gate post"
NOW = dt.datetime(2026, 6, 1, 15, 0, tzinfo=dt.UTC)


def make_person(role: Role, **changes: Any) -> User:
    """Return a saved person with this role; the log-in name is the role's."""
    values: dict[str, Any] = {
        "username": role.value,
        "first_name": role.label,
        "email": f"{role.value}@example.com",
        "role": role,
    }
    return User.objects.create_user(**(values | {"password": PASSWORD} | changes))


def make_firm(**changes: Any) -> FirmProfile:
    """Return the firm's saved profile."""
    values: dict[str, Any] = {
        "name": "Orchard Hollow Fence",
        "street": "12 Mill Lane",
        "city": "Fernbrook",
        "state": "OH",
        "postcode": "44999",
        "set_up_at": NOW,
    }
    return FirmProfile.objects.create(**(values | changes))
