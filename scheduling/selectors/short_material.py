"""Which phases' material comes too late, as the calendar stands or as it would be."""

import datetime as dt
from collections.abc import Iterable, Mapping

from scheduling.engine.buying import Covered
from scheduling.engine.crew_days import PHASE_NAMES
from scheduling.engine.plan import CrewDay as Block
from scheduling.engine.plan import Phase
from scheduling.engine.wording import day_words
from scheduling.selectors.material import (
    JobItem,
    NeedRow,
    PhaseDays,
    Placed,
    is_anything_bought,
    material_standing,
)


def short_by_moving(
    before: Iterable[Block], after: Iterable[Block], *, today: dt.date
) -> tuple[str, ...]:
    """Return in sentences whose material a move of the calendar leaves short, by item and day.

    Who builds first takes first, so what moves takes from others, or leaves its own to them. What
    was short before is not told again, nor a phase whose day a person wrote down.
    """
    if not is_anything_bought():
        return ()
    stood = _short(_placed(before), today)
    found = _short(_placed(after), today)
    return tuple(words for at, words in found.items() if at not in stood)


def _placed(blocks: Iterable[Block]) -> Placed:
    found: dict[JobItem, PhaseDays] = {}
    for one in blocks:
        at = int(one.job), one.phase.value
        known = found.get(at, PhaseDays(first=one.date, last=one.date))
        found[at] = PhaseDays(first=min(known.first, one.date), last=max(known.last, one.date))
    return found


def _short(placed: Placed, today: dt.date) -> Mapping[int, str]:
    """Return what is short by phase, for those still to begin, the soonest first."""
    lacks: dict[int, list[str]] = {}
    heads: dict[int, str] = {}
    for row in material_standing(placed).rows:
        if row.phase is None or not row.phase.needs_material or row.days is None:
            continue
        if row.days.first >= today and (words := _lacking(row, row.days.first, today)):
            lacks.setdefault(row.phase.pk, []).append(words)
            work = PHASE_NAMES[Phase(row.phase.kind)]
            heads[row.phase.pk] = f"{row.job}: {work} on {day_words(row.days.first)} lacks material"
    return {pk: f"{heads[pk]}. {'; '.join(mine)}." for pk, mine in lacks.items()}


def _lacking(row: NeedRow, day: dt.date, today: dt.date) -> str:
    """Return what of one item is not there on the morning of a day, or nothing."""
    parts = list(_late(row.covered, day, today))
    if row.covered.to_buy:
        parts.append(f"{row.covered.to_buy} still to buy")
    return f"{row.item.name}: {', '.join(parts)}" if parts else ""


def _late(covered: Covered, day: dt.date, today: dt.date) -> Iterable[str]:
    for one in covered.from_orders:
        if one.promised_on is None:
            yield f"{one.count} on order without a promised day"
        elif not today <= one.promised_on < day:
            yield f"{one.count} promised for {day_words(one.promised_on)}"
