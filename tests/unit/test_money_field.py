"""What people type as an amount of money, and what is refused rather than guessed at."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from firm.forms.fields import MoneyField


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("1250", "1250"),
        ("$1,250.50", "1250.50"),
        ("1,234,567.89", "1234567.89"),
        (" 12.5 ", "12.5"),
        ("-$35.50", "-35.50"),
        ("-1,035.50", "-1035.50"),
    ],
)
def test_amount_may_be_typed_with_its_signs(typed: str, amount: str) -> None:
    assert MoneyField(min_value=Decimal(-9999)).clean(typed) == Decimal(amount)


@pytest.mark.parametrize("typed", ["12,5", "12,50", "1,2345", "1234,567", "1.250,00", ",500"])
def test_comma_that_parts_no_thousands_is_refused_not_dropped(typed: str) -> None:
    # Dropped, it would turn 12,50 into 1250: a hundred times what was meant.
    with pytest.raises(ValidationError, match="cents come after a point"):
        MoneyField().clean(typed)
