"""Writing down how the air of a day dries concrete, so that advice for its pours stands."""

import datetime as dt
from dataclasses import asdict

from django.db import transaction

from firm.models import User
from firm.services.audit import record, snapshot
from firm.services.saving import add_row, change_row, locked
from scheduling.models import DryingAir
from scheduling.selectors.pour_weather import Drying


@transaction.atomic
def write_down_drying(
    *, date: dt.date, drying: Drying | None, actor: User, now: dt.datetime
) -> bool:
    """Write down a day's drying air, or take it away with None; say whether anything changed."""
    kept = DryingAir.objects.filter(date=date).first()
    if drying is None:
        if kept is None:
            return False
        gone = locked(kept)
        action = "took the drying air away"
        record(actor=actor, action=action, target=gone, before=snapshot(gone), at=now)
        gone.delete()
        return True
    values = asdict(drying)
    if kept is None:
        row = DryingAir(date=date, entered_by=actor, entered_at=now, **values)
        add_row(row, actor=actor, action="wrote down the drying air", at=now)
        return True
    if all(getattr(kept, name) == value for name, value in values.items()):
        return False
    changes = values | {"entered_by": actor, "entered_at": now}
    change_row(kept, changes=changes, actor=actor, action="changed the drying air", at=now)
    return True
