"""What a change of the calendar breaks that was not broken before it.

A breach is an old one where the same blocks, at the same hours, broke the same rule before it,
whatever it reads by now: that the job waited for is over a day later makes it no other. Posts that
have hardened for less than before do: what hangs on them is in more danger.

Days that lie behind are left out: no change mends them, so none may be refused for their sake.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduling.engine.breaches import Rule, Violation
from scheduling.engine.crew_days import find_violations
from scheduling.engine.driving import SLACK_H
from scheduling.engine.plan import CrewDay, Facts, Phase, timed

# A block as it stands, without its key: whoever writes it anew makes it no other.
Stand = tuple[str, Phase, str, dt.date, float, dt.datetime | None]


@dataclass(frozen=True, kw_only=True, slots=True)
class Breach:
    """A violation with the blocks that break the rule as they stand."""

    violation: Violation
    stands: frozenset[Stand]

    def is_covered_by(self, stood: "Breach") -> bool:
        """Say whether this is a breach of the same rule that stood before, or a part of it."""
        now, was = self.violation, stood.violation
        if now.sentence == was.sentence:
            return True
        if not self.stands <= stood.stands:
            return False
        if now.rule != Rule.CURE or was.short_h is None:
            return True
        return now.short_h is not None and now.short_h <= was.short_h + SLACK_H


@dataclass(frozen=True, kw_only=True, slots=True)
class Told:
    """What people are told that a plan breaks, by rule."""

    by_rule: Mapping[Rule, Sequence[Breach]]

    def covers(self, breach: Breach) -> bool:
        """Say whether a breach is no new one beside these."""
        stood = self.by_rule.get(breach.violation.rule, ())
        return any(breach.is_covered_by(one) for one in stood)


def told_of(placements: Sequence[CrewDay], facts: Facts, *, placed_anew: str = "") -> Told:
    """Return all that a plan breaks from today on, what was overridden included.

    Not so for the block of the key `placed_anew`: what was overridden for it counts no longer.
    """
    bare = [
        replace(one, known=()) if one.known and one.key != placed_anew else one
        for one in placements
    ]
    by_rule: dict[Rule, list[Breach]] = defaultdict(list)
    for breach in _ahead(bare, facts):
        by_rule[breach.violation.rule].append(breach)
    return Told(by_rule=by_rule)


def new_violations(
    placements: Sequence[CrewDay], facts: Facts, *stood: Told
) -> tuple[Violation, ...]:
    """Return what a plan breaks from today on beyond what stood broken."""
    return tuple(
        breach.violation
        for breach in _ahead(placements, facts)
        if not any(told.covers(breach) for told in stood)
    )


def _ahead(placements: Sequence[CrewDay], facts: Facts) -> Iterator[Breach]:
    found = [
        one
        for one in find_violations(placements, facts)
        if any(each.date >= facts.today for each in one.blocks)
    ]
    if not found:
        return
    begins_at = {one.block: one.starts_at for one in timed(placements, facts)}
    for one in found:
        # The hours of a crew's day are too many at whichever hour they are worked.
        is_of_hours = one.rule == Rule.CREW_HOURS
        yield Breach(
            violation=one,
            stands=frozenset(
                (
                    each.job,
                    each.phase,
                    each.crew,
                    each.date,
                    each.hours,
                    None if is_of_hours else begins_at[each],
                )
                for each in one.blocks
            ),
        )
