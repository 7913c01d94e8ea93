"""How fast this crew works on this site: the firm's rates, and what moves them.

Common practice, no source, for what moves a rate; every figure is a row of the firm's.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from estimating.engine.catalog import Rates, Rules
from estimating.engine.footings import Footings, PostHole
from estimating.engine.result import Finding, LineLayout, Phase, RateFactor, Work
from estimating.engine.site import Conditions
from estimating.engine.steepness import Grade, Steepness, steepness_of
from firm.measure.lengths import format_in

SLOWED_BY_WAITING: frozenset[Phase] = frozenset({"dig", "set", "hang", "gates"})
STEEP_WORDS = {"steep": "steep ground", "hand": "ground too steep for machines"}


@dataclass(frozen=True, kw_only=True, slots=True)
class Pace:
    """The firm's rates as they hold on one site."""

    rates: Rates
    steepness: Steepness
    waiting: tuple[RateFactor, ...] = ()

    def work(
        self,
        phase: Phase,
        rate: str,
        count: float,
        unit: str,
        *,
        line_id: str = "",
        gate_id: str = "",
        posts: Sequence[int] = (),
        bays: Sequence[int] = (),
        factors: Sequence[RateFactor] = (),
        note: str = "",
    ) -> Work:
        """Return work at one rate; a rate that the firm doesn't have counts as 0 hours."""
        every = (*factors, *(self.waiting if phase in SLOWED_BY_WAITING else ()))
        hours_each = self.rates.hours.get(rate, 0.0)
        labor_hours = count * hours_each
        for factor in every:
            labor_hours *= factor.value
        return Work(
            phase=phase,
            rate=rate,
            valid_from=self.rates.since.get(f"hours.{rate}", ""),
            hours_each=hours_each,
            count=count,
            unit=unit,
            labor_hours=labor_hours,
            factors=every,
            line_id=line_id,
            gate_id=gate_id,
            posts=tuple(posts),
            bays=tuple(bays),
            note=note,
        )

    def factor(self, rate: str, reason: str) -> RateFactor:
        """Return the factor of one row; where the firm has none it changes nothing."""
        return factor_of(self.rates, "hours", rate, reason)

    def slope(self, grade: Grade) -> tuple[RateFactor, ...]:
        """Return what steep ground does to the work on it."""
        return (self.factor(f"slope.{grade}_factor", STEEP_WORDS[grade]),) if grade else ()

    def set_up(self, crew_size: int) -> tuple[RateFactor, ...]:
        """Return what another crew than the rate's makes of setting up: each one carries."""
        limit = self.rates.limits.get("setup.phase_crew", crew_size)
        if crew_size == limit:
            return ()
        row = factor_of(
            self.rates, "limits", "setup.phase_crew", f"a crew of {crew_size} in place of {limit:g}"
        )
        return (replace(row, value=crew_size / limit),)


def factor_of(rates: Rates, kind: str, key: str, reason: str) -> RateFactor:
    rows = rates.hours if kind == "hours" else rates.limits
    return RateFactor(
        row=f"{kind}.{key}",
        value=rows.get(key, 1.0),
        valid_from=rates.since.get(f"{kind}.{key}", ""),
        reason=reason,
    )


def pace_on(
    lines: Sequence[LineLayout],
    rates: Rates,
    rules: Rules,
    conditions: Conditions,
    footings: Footings,
) -> Pace:
    """Return the pace of the firm's crew on these lines."""
    pace = Pace(rates=rates, steepness=steepness_of(lines, rates))
    if not _crew_waits(pace, lines, rules, conditions, footings):
        return pace
    waiting = pace.factor("crew.large_factor", f"{rules.crew_size} people wait for one another")
    return replace(pace, waiting=(waiting,))


def is_dug_by_hand(each: PostHole, conditions: Conditions, steepness: Steepness) -> bool:
    """Say whether no machine may or can dig this hole."""
    return (
        conditions.dig_method == "hand"
        or each.post.hand_dig
        or steepness.grade_of_post(each.post.number) == "hand"
    )


def _crew_waits(
    pace: Pace,
    lines: Sequence[LineLayout],
    rules: Rules,
    conditions: Conditions,
    footings: Footings,
) -> bool:
    """Say whether the crew is too large: it pays on a long fence, or where hands dig."""
    limits = pace.rates.limits
    if rules.crew_size < limits.get("crew.large_from", rules.crew_size + 1):
        return False
    fence_ft = sum(line.fence_ft for line in lines if line.scope != "removal")
    holes = footings.post_holes
    by_hand = sum(is_dug_by_hand(each, conditions, pace.steepness) for each in holes)
    return (
        bool(holes)
        and fence_ft < limits.get("crew.large_pays_ft", 0.0)
        and by_hand <= len(holes) / 2
    )


def with_method_that_fits(
    conditions: Conditions, rates: Rates
) -> tuple[Conditions, tuple[Finding, ...]]:
    """Return the conditions with a way of digging that gets to the holes, and what was changed.

    A machine that is wider than the way in stays outside; of what is carried in by hand the
    quickest in this soil takes its place.
    """
    access_in = conditions.access_width_in
    needs_in = rates.limits.get(f"access.{conditions.dig_method}_in", 0.0)
    if access_in is None or access_in >= needs_in:
        return conditions, ()
    carried = _methods(rates, conditions.soil_class, widest_in=0.0)
    method = min(carried, key=carried.__getitem__, default="hand")
    finding = Finding(
        code="machine-too-wide",
        severity="warn",
        message=(
            f"The {_words(conditions.dig_method)} does not pass the way in, so the hours are for "
            f"digging by {_words(method)}."
        ),
        place="the way in",
        figure=format_in(access_in),
        limit=f"{format_in(needs_in)} for the {_words(conditions.dig_method)}",
        action=_way_out(rates, conditions, access_in),
    )
    return replace(conditions, dig_method=method), (finding,)


def _methods(rates: Rates, soil_class: str, *, widest_in: float) -> dict[str, float]:
    """Return the ways of digging this soil that pass a width, with the hours of one hole."""
    prefix = f"dig.{soil_class}."
    return {
        method: hours
        for key, hours in rates.hours.items()
        if key.startswith(prefix)
        for method in (key.removeprefix(prefix),)
        if rates.limits.get(f"access.{method}_in", 0.0) <= widest_in
    }


def _way_out(rates: Rates, conditions: Conditions, access_in: float) -> str:
    passing = _methods(rates, conditions.soil_class, widest_in=access_in)
    quickest = min(passing, key=passing.__getitem__, default="")
    if quickest and f"access.{quickest}_in" in rates.limits:
        return f"Choose the {_words(quickest)}, which passes, or open a wider way in."
    return "Ask whether a panel or a gate can come out for a wider way in, or keep these hours."


def _words(method: str) -> str:
    return method.replace("_", " ")


def crew_finding(pace: Pace, crew_size: int) -> tuple[Finding, ...]:
    """Return what a crew larger than the job says of itself."""
    if not pace.waiting:
        return ()
    limit_ft = pace.rates.limits["crew.large_pays_ft"]
    return (
        Finding(
            code="crew-larger-than-the-job",
            severity="note",
            message="Part of so large a crew waits on a fence this short.",
            place="hours",
            figure=f"{crew_size} people, hours x {pace.waiting[0].value:g}",
            limit=f"pays from {limit_ft:g} ft, or where hands dig",
            action="Price and plan this job with a smaller crew.",
        ),
    )
