"""Adding and changing jurisdictions."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import IntegrityError

from firm.errors import Refusal
from firm.models import Jurisdiction, User
from firm.services.saving import add_row, change_row

NAME_TAKEN = "There is a jurisdiction of this name already."


def add_jurisdiction(
    *, actor: User | None, values: Mapping[str, Any], at: dt.datetime
) -> Jurisdiction:
    """Add a jurisdiction.

    Raises:
        Refusal: the name is taken.
    """
    try:
        return add_row(Jurisdiction(**values), actor=actor, action="added a jurisdiction", at=at)
    except IntegrityError as error:
        raise Refusal(NAME_TAKEN, field="name") from error


def change_jurisdiction(
    *, actor: User | None, jurisdiction: Jurisdiction, values: Mapping[str, Any], at: dt.datetime
) -> Jurisdiction:
    """Change a jurisdiction's rules; dates worked out before stay as they are.

    Raises:
        Refusal: the name is taken.
    """
    try:
        return change_row(
            jurisdiction, changes=values, actor=actor, action="changed a jurisdiction", at=at
        )
    except IntegrityError as error:
        raise Refusal(NAME_TAKEN, field="name") from error
