"""Says from orders and stock when each phase's material is promised, or that it is here.

A day that a person wrote down stays: it differs from what the orders said last.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import transaction
from django.db.models import Min
from django.utils import timezone

from firm.models import User
from firm.services.saving import change_row
from scheduling.engine.buying import Arrival, Covered, arrival_of
from scheduling.models import (
    CrewDay,
    FenceJob,
    JobPhase,
    MaterialDates,
)
from scheduling.selectors.material import is_anything_bought, material_standing


@transaction.atomic
def derive_dates(*, actor: User | None, now: dt.datetime, on: dt.date | None = None) -> int:
    """Bring the phases' days up to what orders and stock say; return how many phases changed.

    `on` is the day of what just happened: a phase that is complete by it is here since then.

    Every phase is looked at: who builds first takes first, so what one takes another lacks.
    """
    by_phase: dict[int, list[Covered]] = defaultdict(list)
    phases: dict[int, JobPhase] = {}
    for row in material_standing().rows:
        if row.phase is not None and row.phase.needs_material:
            phases[row.phase.pk] = row.phase
            by_phase[row.phase.pk].append(row.covered)
    return sum(
        _write(
            phases[key],
            arrival_of(covered),
            on=on or timezone.localdate(now),
            actor=actor,
            now=now,
        )
        for key, covered in by_phase.items()
    )


@contextmanager
def dates_follow_calendar(*, actor: User | None, now: dt.datetime) -> Iterator[None]:
    """Bring the phases' days up to what is written to the calendar meanwhile.

    Who builds first takes first: where the jobs stand in the same order afterwards, or nothing was
    ever bought, nothing is reckoned.
    """
    before = _order_of_building()
    yield
    if _order_of_building() != before and is_anything_bought():
        derive_dates(actor=actor, now=now)


def _order_of_building() -> list[int]:
    """Return the phases that take material, as they take it: see `engine.buying.cover`."""
    open_rows = CrewDay.objects.filter(
        job__state=FenceJob.State.TO_DO, phase__finished_on=None, phase__needs_material=True
    )
    names = ("phase", "job__number", "job", "phase__kind")
    found = open_rows.order_by().values_list(*names).annotate(first=Min("date"))
    return [row[0] for row in sorted(found, key=lambda row: (row[4], *row[1:4]))]


def _write(
    phase: JobPhase, arrival: Arrival, *, on: dt.date, actor: User | None, now: dt.datetime
) -> bool:
    said = getattr(phase, "order_dates", None)
    received_on = None
    if arrival.is_here:
        # It came on the day it first was complete, and stays so.
        received_on = (said and said.received_on) or on
    promised_on = arrival.promised_on or (said.promised_on if said and arrival.is_here else None)
    days: dict[str, Any] = {"promised_on": promised_on, "received_on": received_on}
    stands = phase.material_promised_on, phase.material_received_on
    is_said = said is not None and (said.promised_on, said.received_on) == (
        promised_on,
        received_on,
    )
    if stands == (promised_on, received_on) and (is_said or not any(stands)):
        return False
    MaterialDates.objects.update_or_create(phase=phase, defaults=days)
    change_row(
        phase,
        changes={"material_promised_on": promised_on, "material_received_on": received_on},
        actor=actor,
        action="took a phase's material from orders and stock",
        at=now,
    )
    return True
