"""The draws against closed forms and against SciPy's distributions.

Triangular distribution on a, m, b: mean (a + m + b) / 3, variance (a2 + m2 + b2 - am - ab - mb)/18
(Evans, Hastings, Peacock, "Statistical Distributions"; from memory, and checked below against
SciPy's own). Binomial: n p and n p (1 - p), the same source. Tolerances are four standard errors:
of a mean sigma / sqrt(n), of a variance sigma2 sqrt((kurtosis - 1) / n), of a quantile
sqrt(q (1 - q) / n) / density, so that a right program fails about once in 16,000 seeds, and the
seeds are fixed.
"""

from decimal import Decimal
from math import sqrt
from typing import Any

import numpy as np
import pytest
from scipy import stats

from estimating.engine.estimate import estimate
from estimating.engine.risk import happenings, simulate, triangular
from estimating.engine.site import Conditions, Site
from estimating.engine.uncertain import Uncertain
from tests.engine_cases import catalog
from tests.starter_cases import fence_line

pytestmark = pytest.mark.source("L", "SciPy: distributions; closed forms from memory")
DRAWS = 100_000


def tri(low: float, likely: float, high: float, **fields: Any) -> Uncertain:
    return Uncertain(
        key="row",
        name="Made up",
        target=fields.pop("target", "hours:hang"),
        low_pct=low,
        likely_pct=likely,
        high_pct=high,
    )


def chance(pct: float, extra: float = 1.0) -> Uncertain:
    return Uncertain(
        key="row", name="Made up", target="rock_hole", shape="chance", chance_pct=pct, extra=extra
    )


@pytest.mark.parametrize(
    ("low", "likely", "high"), [(-10.0, 0.0, 50.0), (0.0, 10.0, 30.0), (0.0, 0.0, 12.0)]
)
def test_triangular_draws_have_the_mean_and_variance_of_the_closed_form(
    low: float, likely: float, high: float
) -> None:
    drawn = triangular(np.random.default_rng(20), tri(low, likely, high), DRAWS)
    mean = (low + likely + high) / 3
    variance = (low**2 + likely**2 + high**2 - low * likely - low * high - likely * high) / 18
    kurtosis = 2.4  # of every triangular distribution: excess -3/5

    assert abs(drawn.mean() - mean) < 4 * sqrt(variance / DRAWS)
    assert abs(drawn.var() - variance) < 4 * variance * sqrt((kurtosis - 1) / DRAWS)
    own = stats.triang(c=(likely - low) / (high - low), loc=low, scale=high - low)
    assert own.stats("mv") == pytest.approx((mean, variance))


@pytest.mark.parametrize(("pct", "among"), [(25.0, 1), (4.0, 1), (4.0, 50)])
def test_chances_have_the_mean_and_variance_of_the_closed_form(pct: float, among: int) -> None:
    drawn = happenings(np.random.default_rng(21), chance(pct), DRAWS, among=among)
    share = pct / 100
    variance = among * share * (1 - share)
    kurtosis = 3 + (1 - 6 * share * (1 - share)) / variance

    assert abs(drawn.mean() - among * share) < 4 * sqrt(variance / DRAWS)
    assert abs(drawn.var() - variance) < 4 * variance * sqrt((kurtosis - 1) / DRAWS)


@pytest.mark.parametrize("confidence", [50, 80, 95])
def test_price_of_one_uncertain_row_is_scipy_s_quantile(confidence: int) -> None:
    # 32 ft in 4 bays: 2 h of hanging at $62 are the only uncertain $124. Without overhead and
    # margin the price is the cost, so its quantile is today's price and 124 x the quantile.
    book = catalog(overhead_rate=Decimal(0), target_margin_pct=Decimal(0))
    site = Site(
        name="Made up",
        lines=(fence_line("wood", [32.0]),),
        conditions=Conditions(dig_method="skid_steer"),
    )
    result = estimate(site, book)
    risk = simulate(result, book.rules, [tri(-10.0, 0.0, 50.0)], seed=4, draws=DRAWS)
    own = stats.triang(c=10 / 60, loc=-0.10, scale=0.60)
    wanted = own.ppf(confidence / 100)
    share = confidence / 100
    error = 4 * sqrt(share * (1 - share) / DRAWS) / own.pdf(wanted)

    found = float(risk.price_at(confidence) - result.money.price_before_tax)
    assert found == pytest.approx(124 * wanted, abs=124 * error + 0.01)


def test_rock_in_every_hole_for_itself_is_binomial() -> None:
    # 5 posts; 30 % of the holes in rock, 2 h each at $62: the dearest price in 80 % of all draws
    # is that of SciPy's binomial quantile.
    book = catalog(overhead_rate=Decimal(0), target_margin_pct=Decimal(0))
    site = Site(
        name="Made up",
        lines=(fence_line("wood", [32.0]),),
        conditions=Conditions(dig_method="skid_steer"),
    )
    result = estimate(site, book)
    risk = simulate(result, book.rules, [chance(30.0, extra=2.0)], seed=4, draws=DRAWS)
    holes = int(stats.binom(5, 0.3).ppf(0.8))

    assert holes == 2
    assert risk.price_at(80) - result.money.price_before_tax == holes * 124
    assert float(risk.effects[0].mean) == pytest.approx(
        5 * 0.3 * 124, abs=4 * 124 * sqrt(5 * 0.3 * 0.7 / DRAWS)
    )
