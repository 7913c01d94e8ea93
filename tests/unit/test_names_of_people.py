"""What pages call people of the firm."""

import pytest

from firm.models import User


@pytest.mark.parametrize(
    ("first", "last", "said"), [("Dana", "Orr", "Dana Orr"), ("Dana", "", "Dana"), ("", "", "dana")]
)
def test_person_goes_by_name_and_by_the_log_in_only_without_one(
    first: str, last: str, said: str
) -> None:
    assert str(User(username="dana", first_name=first, last_name=last)) == said
