"""Writing down who the firm buys from."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import IntegrityError, transaction

from estimating.models import Supplier
from firm.errors import Refusal
from firm.models import User
from firm.services.saving import add_row, change_row


@transaction.atomic
def save_supplier(
    *, actor: User | None, supplier: Supplier | None, values: Mapping[str, Any], at: dt.datetime
) -> Supplier:
    """Add a supplier, or change one.

    Raises:
        Refusal: another supplier has this name.
    """
    try:
        with transaction.atomic():
            if supplier is None:
                return add_row(Supplier(**values), actor=actor, action="added a supplier", at=at)
            return change_row(
                supplier, changes=values, actor=actor, action="changed a supplier", at=at
            )
    except IntegrityError as error:
        raise Refusal("Another supplier has this name.", field="name") from error
