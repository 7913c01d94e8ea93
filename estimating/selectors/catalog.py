"""Questions about fence systems."""

from collections.abc import Mapping
from typing import Any

from estimating.models import FenceSystem


def system_choices(own: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return the systems a line can be built of: the firm's, and `own` ones of a document."""
    choices = dict(FenceSystem.objects.filter(is_active=True).values_list("key", "name"))
    # One that can't be used is kept with its file, and may be no mapping at all.
    choices |= {
        key: str(fields.get("name", key)) if isinstance(fields, Mapping) else key
        for key, fields in own.items()
    }
    return sorted(choices.items(), key=lambda choice: choice[1])
