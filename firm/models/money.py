"""Columns of money that is finer than a cent."""

from decimal import Decimal
from typing import Any

from django.db import models

USUAL_PLACES = Decimal("1e-4")


class FineCostField(models.DecimalField[Any, Any]):
    """What one costs, to eight places, so that a price for a metre is kept whole for a foot.

    A cost that needs no more than the usual four places comes back with four.
    """

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"max_digits": 16, "decimal_places": 8, **kwargs})

    def from_db_value(self, value: Decimal | None, *_: Any) -> Decimal | None:
        """Return the amount with four places where that loses nothing."""
        if value is None:
            return None
        short = value.quantize(USUAL_PLACES)
        return short if short == value else value
