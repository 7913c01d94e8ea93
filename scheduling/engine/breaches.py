"""Rules a plan may break, what breaks one, and what of that a person has overridden."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from scheduling.engine.driving import SLACK_H
from scheduling.engine.plan import CrewDay, Known


class Rule(StrEnum):
    """What a plan may not break."""

    TICKET = "ticket"
    READINESS = "readiness"
    MATERIAL = "material"
    INSPECTION = "inspection"
    CUSTOMER_DAY = "customer_day"
    RAIN = "rain"
    FROST = "frost"
    CURE = "cure"
    ORDER = "order"
    AFTER = "after"
    SKILL = "skill"
    PEOPLE = "people"
    CREW_OFF = "crew_off"
    CREW_HOURS = "crew_hours"
    CREW_TWICE = "crew_twice"
    DRIVE = "drive"
    MACHINE_TWICE = "machine_twice"


# Who digs without a valid ticket may hit a line: nobody overrides that, in no note.
NEVER_OVERRIDDEN = frozenset({Rule.TICKET})


@dataclass(frozen=True, kw_only=True, slots=True)
class Violation:
    """A rule a plan breaks, in words, with the blocks that break it together.

    `short_h` says by how many hours a block begins too early, where that is what it breaks.
    """

    rule: Rule
    sentence: str
    blocks: tuple[CrewDay, ...]
    short_h: float | None = None


def without_known(
    found: Sequence[Violation], placements: Iterable[CrewDay]
) -> tuple[Violation, ...]:
    """Return what a plan breaks without what was overridden for one of its blocks."""
    known = [each for block in placements for each in block.known]
    return tuple(found if not known else (one for one in found if not _is_known(one, known)))


def _is_known(one: Violation, known: Iterable[Known]) -> bool:
    """Say whether a violation was overridden as it stands, or when it was worse."""
    if one.rule in NEVER_OVERRIDDEN:
        return False
    for each in known:
        if each.rule != one.rule:
            continue
        if each.sentence == one.sentence:
            return True
        is_same = bool(each.key) and each.key == one.blocks[0].key
        if is_same and one.short_h is not None and each.short_h is not None:
            return one.short_h <= each.short_h + SLACK_H
    return False
