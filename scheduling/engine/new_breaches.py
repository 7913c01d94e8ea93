"""What a change of the calendar breaks that was not broken before it.

Days that lie behind are left out: no change mends them, so none may be refused for their sake.
"""

from collections.abc import Sequence, Set

from scheduling.engine.breaches import Rule, Violation
from scheduling.engine.crew_days import find_violations
from scheduling.engine.plan import CrewDay, Facts

# A breach as people are told of it: that its blocks have other keys by now makes it no other.
Told = tuple[Rule, str]


def told_of(placements: Sequence[CrewDay], facts: Facts) -> frozenset[Told]:
    """Return all that a plan breaks from today on, as people are told of it."""
    return frozenset((one.rule, one.sentence) for one in _ahead(placements, facts))


def new_violations(
    placements: Sequence[CrewDay], facts: Facts, stood: Set[Told]
) -> tuple[Violation, ...]:
    """Return what a plan breaks from today on beyond what stood broken."""
    found = _ahead(placements, facts)
    return tuple(one for one in found if (one.rule, one.sentence) not in stood)


def _ahead(placements: Sequence[CrewDay], facts: Facts) -> tuple[Violation, ...]:
    found = find_violations(placements, facts)
    return tuple(one for one in found if any(each.date >= facts.today for each in one.blocks))
