"""Before when nothing hangs on posts: the longest of the bag's label, the firm's table, strength.

This is the one rule; whoever asks when a post may carry something asks here.
"""

import datetime as dt
import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import partial

from firm.measure.said import Said
from scheduling.engine.air import Air, Extreme
from scheduling.engine.cure import CAPITAL_NAMES, NAMES, CureMix, CureTable, Work
from scheduling.engine.errors import EngineError
from scheduling.engine.maturity import MOST_HOURS, Hazards, Reached, hazards, reach
from scheduling.engine.real_time import QUARTERS_PER_HOUR, hours_later
from scheduling.engine.wait_words import Saying, told_together
from scheduling.engine.wording import (
    degrees_words,
    list_words,
    long_later_words,
    moment_words,
    number_words,
)

FROST = Said(
    "{air} on {moment}, before the concrete stands a frost. "
    "Cover it or do not pour; hang nothing on what froze."
)
SAME_FROST = Said("The same frost bars it.")
# The same in a sentence that forgot its parts.
_FROST_TEXT = re.compile(
    re.escape(FROST).replace(r"\{air\}", r"\S+ [FC]").replace(r"\{moment\}", r"\w+ \d\d:\d\d")
)
# A quarter of an hour is not begun by the last digit of a sum.
SLACK_H = 1e-6


RULE_WORDS = {
    "strength": Said("strength"),
    "table": Said("the firm's table"),
    "label": Said("the label"),
}


class Ruling(StrEnum):
    """Which of the three rules waits longest."""

    STRENGTH = "strength"
    TABLE = "table"
    LABEL = "label"

    @property
    def words(self) -> str:
        """The rule as people call it."""
        return RULE_WORDS[self]


@dataclass(frozen=True, kw_only=True, slots=True)
class Pour:
    """Posts set at one hour in one mix, and the air they meet; covered, no frost reaches them."""

    poured_at: dt.datetime
    mix: str
    air: Air
    is_covered: bool = False

    def __post_init__(self) -> None:
        if self.poured_at.tzinfo is None:
            raise EngineError("Give the pour with its time zone.", field="poured_at")


@dataclass(frozen=True, kw_only=True, slots=True)
class Wait:
    """How long to wait, until when and by which rule; all None where hanging is barred.

    It is put into words when somebody reads it: a plan asks thousands of waits for their end.
    """

    hours: float | None
    ready_at: dt.datetime | None
    say: Callable[[], Saying] = field(compare=False)
    say_briefly: Callable[[], Saying] = field(compare=False)
    ruling: Ruling | None = None

    @property
    def sentence(self) -> str:
        """All that there is to say."""
        return self.told()

    def told(self, *, is_planned: bool = False) -> str:
        """Return all that there is to say of posts that stand, or that are only planned."""
        return told_together([self.say()], is_planned=is_planned)

    @property
    def brief(self) -> str:
        """The sentence as a printed sheet has room for it, warnings included."""
        return told_together([self.say_briefly()])


def barred(say: Callable[[], Saying]) -> Wait:
    """Return that nothing may hang, and how to say why."""
    return Wait(hours=None, ready_at=None, say=say, say_briefly=say)


@dataclass(frozen=True, kw_only=True, slots=True)
class Claim:
    """What one of the rules asks for: in full where it rules, in few words where it does not."""

    ruling: Ruling
    words: str
    few_words: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Found:
    """What is known of a pour's wait before it is put into words: the hours by each rule."""

    threats: Hazards
    air_f: float
    hours: Mapping[Ruling, float]
    reached: Reached | None = None


def hang_not_before(pour: Pour, work: Work, table: CureTable) -> Wait:
    """Return when posts may carry `work`, in the time zone of the pour.

    No wait is given, and the answer is what to do instead, where frost meets young concrete that
    is not covered, in air colder than the coldest band of the firm's table, and where the strength
    is not there in two months.

    Raises:
        EngineError: the table has no such mix.
    """
    row = table.mix(pour.mix)
    threats = threats_to(pour, table)
    if threats.frost is not None and not pour.is_covered:
        return barred(partial(_frozen_words, pour, threats.frost, table))
    air_f = pour.air.coldest_mean_f(pour.poured_at.date())
    band = row.wait_for(work, air_f)
    if band is None:
        return barred(partial(_too_cold_words, pour, work, air_f, table))
    hours: dict[Ruling, float] = {}
    reached = None
    if row.curve is not None:
        needed_h = row.curve.age_h_for(row.strength_parts[work])
        reached = reach(pour.poured_at, needed_h, air=pour.air, rule=table.rule)
        if reached is None:
            return barred(partial(_never_words, pour, work, table))
        quarters = math.ceil(reached.hours * QUARTERS_PER_HOUR - SLACK_H)
        hours[Ruling.STRENGTH] = quarters / QUARTERS_PER_HOUR
    hours |= {Ruling.TABLE: band.hours, Ruling.LABEL: row.label_hours[work]}
    ruling = max(hours, key=lambda one: hours[one])
    found = Found(threats=threats, air_f=air_f, hours=hours, reached=reached)
    return Wait(
        hours=hours[ruling],
        ready_at=hours_later(pour.poured_at, hours[ruling]),
        say=partial(_words, pour, work, ruling, found, table),
        say_briefly=partial(_brief_words, pour, work, ruling, found, table),
        ruling=ruling,
    )


def threats_to(pour: Pour, table: CureTable) -> Hazards:
    """Return what weather does to a pour while it is young.

    Raises:
        EngineError: the table has no such mix.
    """
    row = table.mix(pour.mix)
    return hazards(
        pour.poured_at,
        air=pour.air,
        rule=table.rule,
        curve=row.curve,
        strength_psi=row.strength_psi,
    )


def frost_words(frost: Extreme, *, is_metric: bool) -> str:
    """Return what is said of a frost that meets young concrete."""
    at, air_f = frost
    return Said(
        FROST.phrase,
        air=degrees_words(air_f, is_metric=is_metric),
        moment=moment_words(at),
    )


def frost_once(sentences: Iterable[str]) -> list[str]:
    """Return sentences that stand on one page: each frost is told in full where it comes first."""
    told: set[str] = set()
    return [_once(each, told) for each in sentences]


def _once(sentence: str, told: set[str]) -> str:
    if isinstance(sentence, Said) and sentence.phrase != FROST.phrase:
        parts = {
            name: _once(part, told) if isinstance(part, str) else part
            for name, part in sentence.parts.items()
        }
        return Said(sentence.phrase, **parts)
    if isinstance(sentence, Said):
        return SAME_FROST if _is_told(str(sentence), told) else sentence
    return _FROST_TEXT.sub(
        lambda found: SAME_FROST if _is_told(found[0], told) else found[0], sentence
    )


def _is_told(frost: str, told: set[str]) -> bool:
    before = frost in told
    told.add(frost)
    return before


def _words(pour: Pour, work: Work, ruling: Ruling, found: Found, table: CureTable) -> Saying:
    claims = {one.ruling: one for one in _claims(work, found, table, table.mix(pour.mix))}
    ready_at = hours_later(pour.poured_at, found.hours[ruling])
    ruled = Said(
        "{name} from {when}: {words} ({others}).",
        name=CAPITAL_NAMES[work],
        when=long_later_words(ready_at, since=pour.poured_at),
        words=claims.pop(ruling).words,
        others=list_words([one.few_words for one in claims.values()]),
    )
    return _warned(pour, work, table, ruled, found)


def _brief_words(pour: Pour, work: Work, ruling: Ruling, found: Found, table: CureTable) -> Saying:
    by = Said(
        "{work} by {rule}, {hours} h.",
        work=CAPITAL_NAMES[work],
        rule=ruling.words,
        hours=number_words(found.hours[ruling]),
    )
    return _warned(pour, work, table, by, found)


def _warned(pour: Pour, work: Work, table: CureTable, rule: str, found: Found) -> Saying:
    stopped = _stopped_words(work, found.reached, table)
    warnings = _warnings(found, table, is_stopped=stopped is not None)
    return replace(_of_pour(pour, table, rule, warnings), by_work=stopped)


def _claims(work: Work, found: Found, table: CureTable, row: CureMix) -> Iterator[Claim]:
    hours = found.hours
    if found.reached is not None:
        part = row.strength_parts[work]
        yield _strength_claim(found.reached, hours[Ruling.STRENGTH], part, table)
    yield _table_claim(hours[Ruling.TABLE], _degrees_of(table)(found.air_f))
    yield _label_claim(hours[Ruling.LABEL])


def _warnings(found: Found, table: CureTable, *, is_stopped: bool) -> tuple[str, ...]:
    return (
        _cover_words(found.threats, table),
        "" if is_stopped else _cold_words(found.threats, table),
        _heat_words(found.threats, table),
    )


def _table_claim(hours: float, air: str) -> Claim:
    return Claim(
        ruling=Ruling.TABLE,
        words=Said(
            "the firm's table says {hours} h at {air}",
            hours=number_words(hours),
            air=air,
        ),
        few_words=Said("the firm's table {hours} h", hours=number_words(hours)),
    )


def _label_claim(hours: float) -> Claim:
    return Claim(
        ruling=Ruling.LABEL,
        words=Said("the label says {hours} h", hours=number_words(hours)),
        few_words=Said("the label {hours} h", hours=number_words(hours)),
    )


def _strength_claim(reached: Reached, hours: float, part: float, table: CureTable) -> Claim:
    rule, say = table.rule, _degrees_of(table)
    counted = f"{reached.counted_h:.1f} h"
    return Claim(
        ruling=Ruling.STRENGTH,
        words=Said(
            "{hours} h at a mean of {mean} count as {counted} at {reference}; "
            "{part} % of strength needs {counted}",
            hours=number_words(hours),
            mean=say(reached.mean_f if table.is_metric else round(reached.mean_f)),
            counted=counted,
            reference=say(rule.reference_f if table.is_metric else round(rule.reference_f)),
            part=number_words(part * 100),
        ),
        few_words=Said(
            "{part} % of strength {hours} h",
            part=number_words(part * 100),
            hours=number_words(hours),
        ),
    )


def _frozen_words(pour: Pour, frost: Extreme, table: CureTable) -> Saying:
    return _of_pour(pour, table, frost_words(frost, is_metric=table.is_metric))


def _too_cold_words(pour: Pour, work: Work, air_f: float, table: CureTable) -> Saying:
    row, say = table.mix(pour.mix), _degrees_of(table)
    why = Said(row.cold_words, limit=say(row.coldest_f(work)))
    return _of_pour(pour, table, Said("{air}: {why}", air=say(air_f), why=why))


def _never_words(pour: Pour, work: Work, table: CureTable) -> Saying:
    what = Said(
        "{part} % of strength is not there within {days} days in this air. Hang no {work}.",
        part=number_words(table.mix(pour.mix).strength_parts[work] * 100),
        days=MOST_HOURS // 24,
        work=NAMES[work],
    )
    return _of_pour(pour, table, what)


def _cover_words(threats: Hazards, table: CureTable) -> str:
    if threats.frost is None:
        return ""
    at, air_f = threats.frost
    air = _degrees_of(table)(air_f)
    return Said("Cover the posts: {air} on {moment}.", air=air, moment=moment_words(at))


def _stopped_words(work: Work, reached: Reached | None, table: CureTable) -> tuple[str, str] | None:
    """Return how long the concrete stood still in the cold, alone and with the work that waits."""
    if reached is None or not reached.stopped_h:
        return None
    limit = _degrees_of(table)(table.rule.cold_limit_f)
    hours = number_words(reached.stopped_h)
    return (
        Said(
            "Under {limit} for {hours} h, which do not count: protect the concrete.",
            limit=limit,
            hours=hours,
        ),
        Said(
            "Under {limit} for {hours} h before {work} may hang, which do not count: "
            "protect the concrete.",
            limit=limit,
            hours=hours,
            work=NAMES[work],
        ),
    )


def _cold_words(threats: Hazards, table: CureTable) -> str:
    if threats.cold is None:
        return ""
    at, air_f = threats.cold
    air = _degrees_of(table)(air_f)
    return Said("{air} on {moment}: protect the concrete.", air=air, moment=moment_words(at))


def _heat_words(threats: Hazards, table: CureTable) -> str:
    if threats.heat is None:
        return ""
    at, air_f = threats.heat
    return Said(
        "{air} on {moment}: keep the mix under {limit} and the concrete wet.",
        air=_degrees_of(table)(air_f),
        moment=moment_words(at),
        limit=_degrees_of(table)(table.rule.hot_limit_f),
    )


def _degrees_of(table: CureTable) -> Callable[[float], str]:
    """Return what writes a temperature as the firm reads it."""
    return partial(degrees_words, is_metric=table.is_metric)


def _of_pour(pour: Pour, table: CureTable, rule: str, warnings: tuple[str, ...] = ()) -> Saying:
    return Saying(
        rule=rule,
        set_at=moment_words(pour.poured_at),
        mix=Said(table.mix(pour.mix).name),
        warnings=warnings,
    )
