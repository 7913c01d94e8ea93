"""The firm's mixes of concrete: how long each waits by its label, by the firm's table, by strength.

Waits are real hours: nights and weekends count.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from firm.measure.said import Said
from scheduling.engine.errors import EngineError
from scheduling.engine.maturity import MaturityRule, StrengthCurve

# ASTM F567 asks for this strength of the concrete around posts; what is stronger is safe sooner.
LEAST_STRENGTH_PSI = 2500.0


class Work(StrEnum):
    """What is to hang on the posts."""

    PANELS = "panels"
    GATES = "gates"
    FABRIC = "fabric"


NAMES = {
    Work.PANELS: Said("panels"),
    Work.GATES: Said("gates"),
    Work.FABRIC: Said("stretched fabric"),
}
CAPITAL_NAMES = {
    Work.PANELS: Said("Panels"),
    Work.GATES: Said("Gates"),
    Work.FABRIC: Said("Stretched fabric"),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class CureWait:
    """Hours to wait where the air is at least `from_air_f` and less than the next band's."""

    work: Work
    from_air_f: float
    hours: float


@dataclass(frozen=True, kw_only=True, slots=True)
class CureMix:
    """A concrete mix: its waits, and what is said where the air is below the coldest band.

    `label_hours` are the bag's own; `cold_words` name the coldest band's limit as {limit}.
    `curve` is None for mixes that set too fast for one; with one, `strength_parts` are the parts of
    the 28-day strength, `strength_psi`, that each work asks for.
    """

    key: str
    name: str
    cold_words: str
    waits: tuple[CureWait, ...]
    label_hours: Mapping[Work, float]
    curve: StrengthCurve | None = None
    strength_parts: Mapping[Work, float] = field(default_factory=dict)
    strength_psi: float = LEAST_STRENGTH_PSI

    def __post_init__(self) -> None:
        if not self.cold_words.strip():
            raise EngineError(f"{self.name}: say what to do in the cold.", field="cold_words")
        for work in Work:
            _check_bands(self.name, [wait for wait in self.waits if wait.work == work])
            if not 0 <= self.label_hours.get(work, math.nan) < math.inf:
                raise EngineError(f"{self.name}: give the label's wait.", field="label_hours")
            if self.curve is not None:
                self.curve.age_h_for(self.strength_parts.get(work, math.nan))

    def wait_for(self, work: Work, air_f: float) -> CureWait | None:
        """Return the wait of the warmest band the air reaches, or None below them all."""
        reached = (one for one in self.waits if one.work == work and one.from_air_f <= air_f)
        return max(reached, key=lambda one: one.from_air_f, default=None)

    def coldest_f(self, work: Work) -> float:
        """Return where the coldest band of a work begins."""
        return min(one.from_air_f for one in self.waits if one.work == work)

    def steady_hours(self, work: Work, air_f: float, rule: MaturityRule) -> float:
        """Return the longest wait in air that stays as it is; no end where no wait is known."""
        band = self.wait_for(work, air_f)
        rate = rule.rate_in_air(air_f)
        if band is None or (self.curve is not None and rate == 0):
            return math.inf
        aging_h = self.curve.age_h_for(self.strength_parts[work]) / rate if self.curve else 0.0
        return max(band.hours, self.label_hours[work], aging_h)


@dataclass(frozen=True, kw_only=True, slots=True)
class CureTable:
    """The firm's mixes, and how warmth counts for those with a curve of strength.

    Sentences tell the air in Celsius where the firm measures so, `is_metric`.
    """

    mixes: tuple[CureMix, ...]
    rule: MaturityRule
    is_metric: bool = False

    def longest_h(self, air_f: float) -> float:
        """Return the longest wait of any mix in air that stays as it is."""
        return max(mix.steady_hours(work, air_f, self.rule) for mix in self.mixes for work in Work)

    def mix(self, key: str) -> CureMix:
        """Return a mix by its key.

        Raises:
            EngineError: the table has no such mix.
        """
        for mix in self.mixes:
            if mix.key == key:
                return mix
        raise EngineError(f"The waiting table has no mix {key!r}.", field="mix")


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
