"""What holds of every margin: sums to the cent, and nothing that happened forecast away."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.margin import (
    Margin,
    margin_of,
    spread_minutes,
)
from scheduling.engine.margin_facts import (
    BagFacts,
    ChangeFacts,
    FirmRule,
    JobFacts,
    KindFacts,
    PhaseFacts,
    Units,
)
from tests.margin_cases import PHASE_NAMES

D = Decimal
CENTS = st.decimals(min_value=0, max_value=20_000, places=2)
SIGNED = st.decimals(min_value=-500, max_value=20_000, places=2)
HOURS = st.decimals(min_value=0, max_value=200, places=6)


@st.composite
def jobs(draw: st.DrawFn) -> JobFacts:
    phases = tuple(
        PhaseFacts(
            key=key,
            name=name,
            sold_hours=draw(HOURS),
            sold_cost=draw(CENTS),
            worked_min=draw(st.integers(0, 5000)),
            worked_cost=draw(CENTS),
            is_finished=draw(st.booleans()),
            units=draw(st.none() | st.builds(Units, name=st.just("u"), planned=N, done=N)),
        )
        for key, name in list(PHASE_NAMES.items())[: draw(st.integers(1, 8))]
    )
    rule = st.builds(
        FirmRule,
        crew_rate=CENTS,
        crew_size=st.integers(1, 9),
        hours_per_day=st.just(D(8)),
        overhead_method=st.sampled_from(["percent_of_direct", "per_labor_hour", "per_crew_day"]),
        overhead_rate=CENTS,
        commission_pct=st.decimals(min_value=0, max_value=20, places=2),
    )
    return JobFacts(
        price=draw(CENTS),
        overhead=draw(CENTS),
        commission=draw(CENTS),
        phases=phases,
        kinds=tuple(
            KindFacts(
                key=key,
                name=key,
                sold=draw(CENTS),
                receipts=tuple(draw(st.lists(SIGNED, max_size=3))),
            )
            for key in ("material", "equipment", "other")
        ),
        changes=ChangeFacts(
            price=draw(SIGNED),
            direct_cost=draw(SIGNED),
            hours=draw(st.decimals(min_value=-50, max_value=50, places=2)),
        ),
        bags=draw(
            st.none()
            | st.builds(
                BagFacts,
                planned=N,
                used=st.decimals(min_value=0, max_value=300, places=1),
                done=N,
                left=N,
                cost_of_one=CENTS,
            )
        ),
        rule=draw(st.none() | rule),
        is_finished=draw(st.booleans()),
    )


N = st.integers(0, 60)


def parts(margin: Margin, name: str) -> tuple[Decimal, Decimal, Decimal]:
    """Return labour, direct cost and margin added up anew from their parts."""
    labour = sum(getattr(row.cost, name) for row in margin.phases)
    direct = sum(getattr(row.cost, name) for row in margin.kinds)
    left = margin.price - direct - getattr(margin.overhead, name) - margin.commission
    return labour, direct, left


@given(jobs())
def test_every_sum_adds_up_to_the_cent(facts: JobFacts) -> None:
    margin = margin_of(facts)
    for name in ("estimated", "actual", "forecast"):
        labour, direct, left = parts(margin, name)
        assert getattr(margin.labour, name) == labour == getattr(margin.kinds[0].cost, name)
        assert getattr(margin.direct_cost, name) == direct
        assert getattr(margin.margin, name) == left
        assert sum(getattr(row.minutes, name) for row in margin.phases) == getattr(
            margin.minutes, name
        )
    sold = sum((row.sold_cost for row in facts.phases), sum(k.sold for k in facts.kinds))
    assert margin.direct_cost.estimated == sold + facts.changes.direct_cost
    sold_hours = sum((row.sold_hours for row in facts.phases), facts.changes.hours)
    assert margin.minutes.estimated == sold_hours * 60
    assert margin.minutes.actual == sum(row.worked_min for row in facts.phases)


@given(jobs())
def test_what_happened_is_never_forecast_away(facts: JobFacts) -> None:
    for row in margin_of(facts).phases:
        if row.minutes.actual:
            assert row.minutes.forecast >= row.minutes.actual
            assert row.cost.forecast >= row.cost.actual


@given(st.integers(0, 10_000), st.lists(HOURS, min_size=1, max_size=8))
def test_spread_minutes_add_up_and_lie_within_one_of_their_part(
    minutes: int, weights: list[Decimal]
) -> None:
    shares = spread_minutes(minutes, weights)
    assert sum(shares) == minutes
    total = sum(weights)
    for share, weight in zip(shares, weights, strict=True):
        exact = minutes * weight / total if total else D(minutes) / len(weights)
        assert abs(share - exact) < 1
