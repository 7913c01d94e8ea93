"""What a crew lead hands in about a day, as the services take it, and what is wrong with it."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from firm.errors import Refusal


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """One thing that is wrong, at its field; those of rows are named such as `hours-2-ended`."""

    field: str
    message: str


class ReportRefused(Refusal):
    """A report with faults; nothing of it has been written."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__(faults[0].message, field=faults[0].field)
        self.faults = tuple(faults)


@dataclass(frozen=True, kw_only=True, slots=True)
class PostTicks:
    """The posts that were ticked and those whose tick was taken away; `all_set` ticks the rest."""

    newly_set: frozenset[int] = frozenset()
    unset: frozenset[int] = frozenset()
    all_set: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class PhaseTicks:
    """The phases, by their keys, that were finished or taken up again on this page."""

    finished: frozenset[int] = frozenset()
    reopened: frozenset[int] = frozenset()


@dataclass(frozen=True, kw_only=True, slots=True)
class DayEntry:
    """The concrete of the day and what was written about it.

    `without_posts` confirms a pour though no post was ticked that day. `untouched` names what
    stands as the page showed it: another phone may have changed it since, and that stays.
    """

    bags_used: Decimal | None = None
    pour_time: dt.time | None = None
    without_posts: bool = False
    air_f: float | None = None
    mix: str = ""
    remarks: str = ""
    extra_work: str = ""
    needed_next: str = ""
    untouched: frozenset[str] = frozenset()


@dataclass(frozen=True, kw_only=True, slots=True)
class HoursEntry:
    """A span of one person; `pk` is its row where it was kept before, `row` its place on the page.

    Without a phase the time is spread over the day's plan.
    """

    row: int
    member: int
    started: dt.time
    ended: dt.time
    break_min: int = 0
    phase: int | None = None
    pk: int | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class RockEntry:
    """Rock met at a post."""

    row: int
    post_number: int
    depth_in: float | None = None
    minutes: int | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class ReportEntry:
    """Everything handed in at once; what is left out stays as it is."""

    day: DayEntry | None = None
    posts: PostTicks = PostTicks()
    phases: PhaseTicks = PhaseTicks()
    hours: tuple[HoursEntry, ...] = ()
    hours_removed: frozenset[int] = frozenset()
    rock: tuple[RockEntry, ...] = ()
    rock_removed: frozenset[int] = frozenset()
