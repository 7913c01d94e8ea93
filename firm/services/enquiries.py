"""Taking enquiries, booking their visits and leading them on."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from django.db import transaction

from firm.models import Customer, Enquiry, User
from firm.services.customers import add_customer
from firm.services.saving import add_row, change_row


@dataclass(frozen=True, kw_only=True, slots=True)
class NewCaller:
    """Someone who asks and is not a customer yet."""

    name: str
    phone: str = ""
    email: str = ""
    source: str = ""


@transaction.atomic
def take_enquiry(
    *,
    actor: User | None,
    asker: Customer | NewCaller,
    values: Mapping[str, Any],
    at: dt.datetime,
) -> Enquiry:
    """Write down an enquiry; someone new becomes a customer in the same go."""
    if isinstance(asker, NewCaller):
        customer = add_customer(actor=actor, values=asdict(asker), at=at)
    else:
        customer = asker
    enquiry = Enquiry(**_with_visit(values), customer=customer, taken_by=actor, created_at=at)
    return add_row(enquiry, actor=actor, action="took an enquiry", at=at)


def change_enquiry(
    *, actor: User | None, enquiry: Enquiry, values: Mapping[str, Any], at: dt.datetime
) -> Enquiry:
    """Change an enquiry or lead it on to another state."""
    return change_row(
        enquiry, changes=_with_visit(values), actor=actor, action="changed an enquiry", at=at
    )


def _with_visit(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return `values` with a new enquiry that has an appointment moved on to 'visit booked'."""
    is_new = values.get("state", Enquiry.State.NEW) == Enquiry.State.NEW
    if is_new and values.get("appointment_at"):
        return {**values, "state": Enquiry.State.VISIT_BOOKED}
    return dict(values)
