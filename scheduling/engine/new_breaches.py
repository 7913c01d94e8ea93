"""What a change of the calendar breaks that was not broken before it."""

from collections.abc import Sequence, Set

from scheduling.engine.breaches import Rule, Violation
from scheduling.engine.crew_days import find_violations
from scheduling.engine.plan import CrewDay, Facts

# A breach as people are told of it: that its blocks have other keys by now makes it no other.
Told = tuple[Rule, str]


def told_of(placements: Sequence[CrewDay], facts: Facts) -> frozenset[Told]:
    """Return all that a plan breaks, as people are told of it."""
    return frozenset((one.rule, one.sentence) for one in find_violations(placements, facts))


def new_violations(
    placements: Sequence[CrewDay], facts: Facts, stood: Set[Told]
) -> tuple[Violation, ...]:
    """Return what a plan breaks beyond what stood broken."""
    found = find_violations(placements, facts)
    return tuple(one for one in found if (one.rule, one.sentence) not in stood)
