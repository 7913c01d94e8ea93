"""Writing down who the firm buys from."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Q

from estimating.models import PriceItem, Supplier
from firm.errors import Refusal
from firm.models import User
from firm.services.audit import record
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


@transaction.atomic
def buy_items_at(
    *, actor: User | None, supplier: Supplier, beginnings: Sequence[str], at: dt.datetime
) -> int:
    """Say that all items whose short names begin so are bought at one supplier; count them."""
    asked = Q()
    for beginning in beginnings:
        asked |= Q(key__startswith=beginning)
    rows = PriceItem.objects.filter(asked, kind=PriceItem.Kind.MATERIAL)
    names = list(rows.order_by("key").values_list("key", flat=True))
    rows.update(supplier=supplier)
    record(
        actor=actor,
        action="named the supplier of items",
        target=supplier,
        after={"items": names},
        at=at,
    )
    return len(names)
