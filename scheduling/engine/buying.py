"""What jobs still need, and what covers it: the site, the yard, orders on their way, buying.

Counts are whole purchase units. Who builds first takes first, from the yard before any order.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

Key = TypeVar("Key")


@dataclass(frozen=True, kw_only=True, slots=True)
class Need:
    """What one phase of a job still needs of an item, from its first crew day on.

    `count` is without what was loaded for it. Without a day the phase is on no calendar yet.
    """

    job: int
    phase: str
    item: str
    count: int
    day: dt.date | None = None
    number: int = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Incoming:
    """What is still to come of a sent order's line; `job` where it goes to that job's site."""

    line: int
    item: str
    count: int
    promised_on: dt.date | None = None
    job: int | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class FromOrder:
    """How many of a need one line of an order covers."""

    line: int
    count: int
    promised_on: dt.date | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Covered:
    """A need with what covers it: `at_site`, `from_yard`, `from_orders`; `to_buy` is the rest."""

    need: Need
    at_site: int
    from_yard: int
    from_orders: tuple[FromOrder, ...]
    to_buy: int

    @property
    def on_order(self) -> int:
        """How many are on their way."""
        return sum(each.count for each in self.from_orders)


@dataclass(frozen=True, kw_only=True, slots=True)
class Arrival:
    """How all the material of a phase stands: here, or promised for a day, or neither."""

    is_here: bool
    promised_on: dt.date | None


@dataclass(slots=True)
class _Line:
    incoming: Incoming
    left: int


def cover(
    needs: Iterable[Need],
    *,
    yard: Mapping[str, int],
    at_sites: Mapping[tuple[int, str], int],
    incoming: Iterable[Incoming],
) -> tuple[Covered, ...]:
    """Return the needs in the order they are built, each with what covers it.

    `at_sites` are counts by job and item that were delivered to the job's site and not brought
    back. An order to a site covers that job alone.
    """
    in_yard, on_site = dict(yard), dict(at_sites)
    lines: dict[str, list[_Line]] = defaultdict(list)
    for each in sorted(incoming, key=_soonest):
        lines[each.item].append(_Line(each, each.count))
    found = []
    for need in sorted(needs, key=_first_built):
        left = need.count
        at_site = _take(on_site, (need.job, need.item), left)
        left -= at_site
        # What was sent to this site is for nobody else, so it spares the yard.
        own = _take_lines(lines[need.item], left, job=need.job)
        left -= sum(each.count for each in own)
        from_yard = _take(in_yard, need.item, left)
        left -= from_yard
        others = _take_lines(lines[need.item], left, job=None)
        left -= sum(each.count for each in others)
        found.append(
            Covered(
                need=need,
                at_site=at_site,
                from_yard=from_yard,
                from_orders=(*own, *others),
                to_buy=left,
            )
        )
    return tuple(found)


def arrival_of(covered: Sequence[Covered]) -> Arrival:
    """Return how the material of one phase stands, given all its needs."""
    orders = [each for one in covered for each in one.from_orders]
    if any(one.to_buy for one in covered):
        return Arrival(is_here=False, promised_on=None)
    days = [each.promised_on for each in orders if each.promised_on is not None]
    is_promised = len(days) == len(orders)
    return Arrival(is_here=not orders, promised_on=max(days, default=None) if is_promised else None)


def last_day_to_order(day: dt.date, *, lead_days: int) -> dt.date:
    """Return the last day on which an order still comes in time."""
    return day - dt.timedelta(days=lead_days)


def _first_built(need: Need) -> tuple[dt.date, int, int, str, str]:
    return need.day or dt.date.max, need.number, need.job, need.phase, need.item


def _soonest(one: Incoming) -> tuple[dt.date, int]:
    return one.promised_on or dt.date.max, one.line


def _take(store: dict[Key, int], key: Key, wanted: int) -> int:
    taken = min(max(store.get(key, 0), 0), wanted)
    store[key] = store.get(key, 0) - taken
    return taken


def _take_lines(lines: Iterable[_Line], wanted: int, *, job: int | None) -> tuple[FromOrder, ...]:
    found = []
    for one in lines:
        taken = min(one.left, wanted) if one.incoming.job == job else 0
        if taken:
            one.left -= taken
            wanted -= taken
            found.append(
                FromOrder(line=one.incoming.line, count=taken, promised_on=one.incoming.promised_on)
            )
    return tuple(found)
