"""Adding and changing customers."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from firm.models import Customer, User
from firm.services.saving import add_row, change_row


def add_customer(*, actor: User | None, values: Mapping[str, Any], at: dt.datetime) -> Customer:
    """Add a customer."""
    customer = Customer(**values, created_at=at)
    return add_row(customer, actor=actor, action="added a customer", at=at)


def change_customer(
    *, actor: User | None, customer: Customer, values: Mapping[str, Any], at: dt.datetime
) -> Customer:
    """Change what is known of a customer."""
    return change_row(customer, changes=values, actor=actor, action="changed a customer", at=at)
