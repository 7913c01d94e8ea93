"""From where on the rules for wind on a wall hold: Case C, return corners (ASCE 7, Fig. 29.3-1).

The ratios B/s stand in the figure as several agreeing transcriptions have it; the forces are
worked apart: exposure C, 115 mph, 6 ft, q 24.461 psf [C], on the first 4 ft from a free end
0.6 x 24.461 x 0.85 x 6 x 4 = 299.40 lb for each 1.00 of the coefficient.
"""

import pytest

from estimating.engine.wind import Leg, Screen, WindLoad, load_on

Q_PSF = 24.461
LB_EACH = 299.40


def first_four_ft(length_ft: float, return_ft: float = 0.0) -> WindLoad:
    leg = Leg(length_ft=length_ft, height_ft=6.0, return_at_start_ft=return_ft)
    return load_on(leg, Screen(solidity=1.0), Q_PSF, from_ft=0.0, to_ft=4.0)


@pytest.mark.source("C", "ASCE 7-16 Fig. 29.3-1: Case C only from B/s 2, worked apart")
@pytest.mark.parametrize(
    ("length_ft", "coefficient", "rule"),
    [
        # B/s 2: zone of 0 to s 2.25 x (1.8 - 1) = 1.80, over Case A's 1.40.
        (12.0, 1.80, "Case C"),
        # B/s 1.99: Case A alone, between 1.45 at 1 and 1.40 at 2.
        (11.94, 1.4005, "Case A"),
    ],
)
def test_case_c_begins_at_twice_the_height(length_ft: float, coefficient: float, rule: str) -> None:
    found = first_four_ft(length_ft)

    assert found.rule == rule
    assert 0.6 * found.force_lb == pytest.approx(LB_EACH * coefficient, abs=0.05)


@pytest.mark.source("C", "ASCE 7-16 Fig. 29.3-1: return corners only from B/s 5, worked apart")
@pytest.mark.parametrize(
    ("length_ft", "coefficient"),
    [
        # B/s 4.5: (2.90 + 3.10) / 2 = 3.00, x 0.8 = 2.40, the return leaves it as it is.
        (27.0, 2.40),
        # B/s 5: 3.10 x 0.8 = 2.48, and 0.60 of it beside a return of 2 s.
        (30.0, 1.488),
    ],
)
def test_a_return_corner_counts_from_five_times_the_height(
    length_ft: float, coefficient: float
) -> None:
    found = first_four_ft(length_ft, return_ft=12.0)

    assert 0.6 * found.force_lb == pytest.approx(LB_EACH * coefficient, abs=0.05)
