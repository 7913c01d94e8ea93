"""How long posts stand in their concrete before anything hangs on them: the firm's own table.

The wait runs in real hours: nights and weekends count, and where the clocks change in spring and
autumn the hour is not gained or lost. The bag's label rules over the table.
"""

import datetime as dt
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from scheduling.engine.errors import EngineError
from scheduling.engine.wording import later_words, moment_words, number_words


class Work(StrEnum):
    """What is to hang on the posts."""

    PANELS = "panels"
    GATES = "gates"
    FABRIC = "fabric"


NAMES = {Work.PANELS: "panels", Work.GATES: "gates", Work.FABRIC: "stretched fabric"}


@dataclass(frozen=True, kw_only=True, slots=True)
class CureWait:
    """Hours to wait where the air is at least `from_air_f` and less than the next band's."""

    work: Work
    from_air_f: float
    hours: float


@dataclass(frozen=True, kw_only=True, slots=True)
class CureMix:
    """A concrete mix: its waits, and what is said where the air is below the coldest band."""

    key: str
    name: str
    cold_words: str
    waits: tuple[CureWait, ...]

    def __post_init__(self) -> None:
        if not self.cold_words.strip():
            raise EngineError(f"{self.name}: say what to do in the cold.", field="cold_words")
        for work in Work:
            _check_bands(self.name, [wait for wait in self.waits if wait.work == work])

    def wait_for(self, work: Work, air_f: float) -> CureWait | None:
        """Return the wait of the warmest band the air reaches, or None below them all."""
        reached = (one for one in self.waits if one.work == work and one.from_air_f <= air_f)
        return max(reached, key=lambda one: one.from_air_f, default=None)


@dataclass(frozen=True, kw_only=True, slots=True)
class CureTable:
    """The firm's mixes."""

    mixes: tuple[CureMix, ...]

    def mix(self, key: str) -> CureMix:
        """Return a mix by its key.

        Raises:
            EngineError: the table has no such mix.
        """
        for mix in self.mixes:
            if mix.key == key:
                return mix
        raise EngineError(f"The waiting table has no mix {key!r}.", field="mix")


@dataclass(frozen=True, kw_only=True, slots=True)
class Wait:
    """How long to wait and until when; both None where the table knows no wait: hang nothing."""

    hours: float | None
    ready_at: dt.datetime | None
    sentence: str


def hang_not_before(
    poured_at: dt.datetime, mix: str, air_f: float, work: Work, table: CureTable
) -> Wait:
    """Return when posts set at `poured_at` may carry `work`, in the time zone of the pour.

    In air colder than the mix's coldest band no wait is given: the answer is what to do instead.

    Raises:
        EngineError: the pour has no time zone, the air no figure, or the table no such mix.
    """
    if poured_at.tzinfo is None:
        raise EngineError("Give the pour with its time zone.", field="poured_at")
    if not math.isfinite(air_f):
        raise EngineError("Give the air temperature as a figure.", field="air_f")
    row = table.mix(mix)
    set_words = f"Posts set {moment_words(poured_at)}, {number_words(air_f)} F, {row.name}"
    wait = row.wait_for(work, air_f)
    if wait is None:
        return Wait(hours=None, ready_at=None, sentence=f"{set_words}: {row.cold_words}")
    ready_at = hours_later(poured_at, wait.hours)
    when = later_words(ready_at, since=poured_at)
    sentence = f"{set_words}: {NAMES[work]} from {when} ({number_words(wait.hours)} h)."
    return Wait(hours=wait.hours, ready_at=ready_at, sentence=sentence)


def hours_later(moment: dt.datetime, hours: float) -> dt.datetime:
    """Return the moment after that many real hours, whatever the clocks do in between."""
    later = moment.astimezone(dt.UTC) + dt.timedelta(hours=hours)
    return later.astimezone(moment.tzinfo)


def _check_bands(name: str, waits: Sequence[CureWait]) -> None:
    """Refuse a work without a wait, a band given twice and a colder band that waits less."""
    if not waits:
        raise EngineError(f"{name}: give a wait for every work.", field="waits")
    warm_first = sorted(waits, key=lambda one: -one.from_air_f)
    if not all(math.isfinite(one.from_air_f) for one in waits):
        raise EngineError(f"{name}: a band begins at a temperature.", field="from_air_f")
    if not all(0 < one.hours < math.inf for one in waits):
        raise EngineError(f"{name}: a wait is longer than 0 h.", field="hours")
    for warm, cold in itertools.pairwise(warm_first):
        if warm.from_air_f == cold.from_air_f:
            raise EngineError(f"{name}: a band stands there twice.", field="from_air_f")
        if cold.hours < warm.hours:
            raise EngineError(
                f"{name}: concrete does not harden sooner in colder air.", field="hours"
            )
