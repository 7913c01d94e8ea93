"""Which work of a crew's day the rain bars that is written down for it, as its papers say it."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from firm.measure.written import METRIC
from firm.selectors.profile import firm_units
from scheduling.engine.plan import Phase
from scheduling.engine.wording import rain_amount
from scheduling.mapping import RAIN_LIMIT_IN
from scheduling.models import CrewDay, JobPhase, RainDay

# In its own words, as the air is read: every day sheet asks.
RAIN_ON = "SELECT id, rain_in FROM scheduling_rainday WHERE date = %s"


@dataclass(frozen=True, kw_only=True, slots=True)
class RainBar:
    """A day's rain, with its unit, and the phases it bars."""

    amount: str
    works: tuple[str, ...]
    bars_pour: bool


def rain_on(day: dt.date) -> float:
    """Return the inches of rain written down for a day, as forecast or as it fell; one query."""
    return next((row.rain_in for row in RainDay.objects.raw(RAIN_ON, [day])), 0.0)


def rain_bar(rain_in: float, rows: Iterable[CrewDay]) -> RainBar | None:
    """Return what so much rain bars of a crew's blocks; None where it bars nothing.

    What the owner placed against a rule is told by its own note.
    """
    barred = [
        row.phase
        for row in rows
        if rain_in > RAIN_LIMIT_IN.get(Phase(row.phase.kind), rain_in) and not row.override_note
    ]
    if not barred:
        return None
    amount = rain_amount(rain_in, is_metric=firm_units() == METRIC)
    return RainBar(
        amount=amount,
        works=tuple(dict.fromkeys(str(phase.get_kind_display()) for phase in barred)),
        bars_pour=any(phase.kind == JobPhase.Kind.SET for phase in barred),
    )
