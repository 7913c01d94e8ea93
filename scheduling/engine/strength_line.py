"""A pour's strength over its first days, and when it comes to what each work asks for."""

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scheduling.engine.cure import CureTable, Work
from scheduling.engine.hanging import Pour, threats_to
from scheduling.engine.maturity import reach, strength_by_hour
from scheduling.engine.real_time import hours_later

# The line goes on a little behind the last crossing, in whole half days.
HOURS_BEHIND = 12
HALF_A_DAY = 12
SHORTEST_H = 24


@dataclass(frozen=True, kw_only=True, slots=True)
class Crossing:
    """When a pour comes to the part of its strength that a work asks for."""

    work: Work
    part: float
    hours: float
    at: dt.datetime


@dataclass(frozen=True, kw_only=True, slots=True)
class StrengthLine:
    """Parts of the 28-day strength at the pour and after each real hour, and the crossings."""

    poured_at: dt.datetime
    parts: Sequence[float]
    crossings: Sequence[Crossing]

    @property
    def hours(self) -> int:
        """How long the line is."""
        return len(self.parts) - 1


def strength_line(pour: Pour, works: Iterable[Work], table: CureTable) -> StrengthLine | None:
    """Return how a pour gains strength up to the last of the works.

    None where no strength is reckoned: a mix without a curve, a pour that froze, and air in which
    nothing comes to its strength.

    Raises:
        EngineError: the table has no such mix.
    """
    row = table.mix(pour.mix)
    if row.curve is None or (threats_to(pour, table).frost and not pour.is_covered):
        return None
    crossings = []
    for work in works:
        part = row.strength_parts[work]
        found = reach(pour.poured_at, row.curve.age_h_for(part), air=pour.air, rule=table.rule)
        if found is not None:
            at = hours_later(pour.poured_at, found.hours)
            crossings.append(Crossing(work=work, part=part, hours=found.hours, at=at))
    if not crossings:
        return None
    last_h = max(one.hours for one in crossings) + HOURS_BEHIND
    hours = max(math.ceil(last_h / HALF_A_DAY) * HALF_A_DAY, SHORTEST_H)
    parts = strength_by_hour(pour.poured_at, row.curve, air=pour.air, rule=table.rule, hours=hours)
    return StrengthLine(poured_at=pour.poured_at, parts=parts, crossings=tuple(crossings))
