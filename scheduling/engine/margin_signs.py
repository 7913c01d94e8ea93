"""Signs that a job is going bad while it can still be saved.

The signs and their limits are common practice, no source: posts set under 80 % of the first day's
plan; over 1.25 x the bags a post; a trip that was not in the plan; digging over its hours with
more than 30 % of the holes left; extras nobody signed; less money received than material
committed; finished for more than 3 days without an invoice; a balance open for more than 15 days.
Material that is ordered a second time is not kept apart, so it is no sign here.
"""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from firm.measure.money import format_money
from scheduling.engine.margin import hour_words
from scheduling.engine.wording import day_words

POSTS_ON_DAY_1 = Decimal("0.80")
BAGS_A_POST = Decimal("1.25")
HOLES_LEFT = Decimal("0.30")
DAYS_TO_INVOICE = 3
DAYS_TO_PAY = 15


@dataclass(frozen=True, kw_only=True, slots=True)
class FirstDay:
    """The first day posts were planned for, once it is over: the plan's part, the posts set."""

    day: dt.date
    planned_part: Decimal
    posts_set: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Digging:
    """The digging while it goes on: hours planned and worked, posts not set yet."""

    planned_hours: Decimal
    worked_hours: Decimal
    posts_left: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Concrete:
    """The bags counted in some posts against those planned for all of them."""

    planned: int
    used: Decimal
    posts_done: int


@dataclass(frozen=True, kw_only=True, slots=True)
class SignFacts:
    """What the signs are read from; None where there is nothing to read.

    `trips_planned` counts days out. `finished_on` is set for a finished job; `invoiced_on` is
    the day of its balance invoice; `owed` what of the contract is not paid.
    """

    today: dt.date
    posts: int = 0
    first_day: FirstDay | None = None
    concrete: Concrete | None = None
    digging: Digging | None = None
    trips_planned: int = 0
    trips_made: int = 0
    drafts: int = 0
    extras_noted: int = 0
    received: Decimal = Decimal(0)
    committed: Decimal = Decimal(0)
    finished_on: dt.date | None = None
    invoiced_on: dt.date | None = None
    owed: Decimal = Decimal(0)


@dataclass(frozen=True, kw_only=True, slots=True)
class Sign:
    """One sign: a stable code, and a sentence with the figures behind it."""

    code: str
    words: str


def signs_of(facts: SignFacts) -> tuple[Sign, ...]:
    """Return the signs that a job goes bad, in the order a job is built and paid."""
    found = (
        _slow_first_day(facts),
        _many_bags(facts),
        _many_trips(facts),
        _slow_digging(facts),
        _unsigned(facts),
        _deposit(facts),
        _not_invoiced(facts),
        _not_paid(facts),
    )
    return tuple(each for each in found if each is not None)


def _slow_first_day(facts: SignFacts) -> Sign | None:
    first = facts.first_day
    if first is None:
        return None
    planned = facts.posts * first.planned_part
    if first.posts_set >= POSTS_ON_DAY_1 * planned:
        return None
    words = (
        f"{first.posts_set} posts were set by the end of {day_words(first.day)}, the first day;"
        f" the plan was {hour_words(planned)}."
    )
    return Sign(code="slow-first-day", words=words)


def _many_bags(facts: SignFacts) -> Sign | None:
    concrete = facts.concrete
    if concrete is None or not concrete.posts_done or not facts.posts or not concrete.planned:
        return None
    planned, used = (
        Decimal(concrete.planned) / facts.posts,
        concrete.used / concrete.posts_done,
    )
    if used <= BAGS_A_POST * planned:
        return None
    words = f"{hour_words(used)} bags go into a post; the plan is {hour_words(planned)}."
    return Sign(code="many-bags", words=words)


def _many_trips(facts: SignFacts) -> Sign | None:
    made, planned = facts.trips_made, facts.trips_planned
    if not planned or made <= planned:
        return None
    words = f"{_counted(made, 'day')} out so far; the plan was {planned}."
    return Sign(code="trip-not-planned", words=words)


def _slow_digging(facts: SignFacts) -> Sign | None:
    dig = facts.digging
    if dig is None or not facts.posts or dig.worked_hours <= dig.planned_hours:
        return None
    if dig.posts_left <= HOLES_LEFT * facts.posts:
        return None
    words = (
        f"Digging took {hour_words(dig.worked_hours)} h of the {hour_words(dig.planned_hours)} h"
        f" planned, and {dig.posts_left} of {facts.posts} posts are not set."
    )
    return Sign(code="slow-digging", words=words)


def _unsigned(facts: SignFacts) -> Sign | None:
    parts = []
    if facts.drafts:
        parts.append(f"{_counted(facts.drafts, 'change order')} not signed")
    if facts.extras_noted:
        parts.append(f"extra work noted on {_counted(facts.extras_noted, 'report')}")
    if not parts:
        return None
    words = " and ".join(parts)
    return Sign(code="unsigned-extras", words=f"{words[0].upper()}{words[1:]}: it is not paid for.")


def _deposit(facts: SignFacts) -> Sign | None:
    if facts.finished_on is not None or facts.received >= facts.committed:
        return None
    words = (
        f"Payments written down: {format_money(facts.received)}. Material bought or ordered:"
        f" {format_money(facts.committed)}."
    )
    return Sign(code="deposit-under-material", words=words)


def _not_invoiced(facts: SignFacts) -> Sign | None:
    if facts.finished_on is None or facts.invoiced_on is not None or facts.owed <= 0:
        return None
    days = (facts.today - facts.finished_on).days
    if days <= DAYS_TO_INVOICE:
        return None
    return Sign(code="not-invoiced", words=f"Finished {days} days ago, and no balance invoice.")


def _not_paid(facts: SignFacts) -> Sign | None:
    if facts.invoiced_on is None or facts.owed <= 0:
        return None
    days = (facts.today - facts.invoiced_on).days
    if days <= DAYS_TO_PAY:
        return None
    words = f"{format_money(facts.owed)} still to be paid, {days} days after the balance invoice."
    return Sign(code="not-paid", words=words)


def _counted(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
