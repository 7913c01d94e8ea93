"""How deep the ground may freeze, by climate and soil: advice beside the town's own figure.

Stefan's formula, and the modified Berggren formula that corrects it for the soil's own heat. Both
take one uniform soil. The frost line that a building code asks for is adopted by each town; where
a town has one, it rules.
"""

import math
from dataclasses import dataclass

from estimating.engine.errors import EngineError

HOURS_X_2 = 48.0  # Stefan: 2 x 24 h a day
LATENT_BTU_LB = 144.0  # of a pound of water
DRY_SOIL_BTU_LB_F = 0.17
WATER_BTU_LB_F = 0.75  # frozen and thawed averaged, per pound of water
FREEZING_F = 32.0
SMALLEST_MU = 1e-9
HALVINGS = 80
FT_PER_M = 1 / 0.3048
F_DAYS_PER_C_DAY = 1.8
# From memory: what frozen fine soil grips on concrete, 65 kPa.
GRIP_PSF = 65_000 / 47.880


@dataclass(frozen=True, kw_only=True, slots=True)
class FrozenGround:
    """A soil and the winter over it.

    `index_f_days` is the air-freezing index in Fahrenheit degree-days; `surface_factor` (n) turns
    it into that of the ground's surface. `conductivity` is the mean of frozen and thawed soil in
    BTU/h ft F, `dry_lb_ft3` its dry density, `water_pct` its water by weight of the dry soil.
    """

    index_f_days: float
    surface_factor: float
    conductivity: float
    dry_lb_ft3: float
    water_pct: float
    freezing_days: float
    mean_annual_f: float

    def __post_init__(self) -> None:
        for name in ("surface_factor", "conductivity", "dry_lb_ft3", "water_pct", "freezing_days"):
            if not getattr(self, name) > 0:
                raise EngineError(f"{name} must be above 0.", field=name)
        if self.index_f_days < 0:
            raise EngineError("index_f_days can't be negative.", field="index_f_days")

    @property
    def latent_btu_ft3(self) -> float:
        """Return the heat that freezing a cubic foot of the soil's water gives off."""
        return LATENT_BTU_LB * self.dry_lb_ft3 * self.water_pct / 100

    @property
    def capacity_btu_ft3_f(self) -> float:
        """Return the heat that warms a cubic foot by a degree."""
        return self.dry_lb_ft3 * (DRY_SOIL_BTU_LB_F + WATER_BTU_LB_F * self.water_pct / 100)

    @property
    def surface_f(self) -> float:
        """Return how far the surface lies below freezing, on the mean of the winter."""
        return self.surface_factor * self.index_f_days / self.freezing_days

    @property
    def fusion(self) -> float:
        """Return mu: the soil's own heat against that of its water's freezing."""
        return self.capacity_btu_ft3_f * self.surface_f / self.latent_btu_ft3

    @property
    def thermal_ratio(self) -> float:
        """Return alpha: how far the year's mean lies above freezing against the winter below."""
        return (self.mean_annual_f - FREEZING_F) / self.surface_f


def stefan_ft(ground: FrozenGround) -> float:
    """Return the depth by Stefan's formula, which comes out too deep in temperate places."""
    frost = ground.conductivity * ground.surface_factor * ground.index_f_days
    return math.sqrt(HOURS_X_2 * frost / ground.latent_btu_ft3)


def berggren_ft(ground: FrozenGround) -> float:
    """Return the depth by the modified Berggren formula."""
    if ground.index_f_days == 0:
        return 0.0
    return correction(max(0.0, ground.thermal_ratio), ground.fusion) * stefan_ft(ground)


def correction(alpha: float, mu: float) -> float:
    """Return lambda, by which Stefan's depth is multiplied, solved in place of the chart.

    Neumann's solution: exp(-e2)/erf(e) - alpha exp(-e2)/erfc(e) = sqrt(pi) e/mu, and lambda is
    e sqrt(2/mu). The left side falls and the right rises with e, so the root is found by halving.
    """
    if mu < SMALLEST_MU:
        return 1.0
    low, high = 0.0, math.sqrt(mu / 2)  # lambda is 1 at most
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if _excess(middle, alpha, mu) > 0:
            low = middle
        else:
            high = middle
    return high * math.sqrt(2 / mu)


def _excess(e: float, alpha: float, mu: float) -> float:
    fall = math.exp(-(e**2))
    return fall / math.erf(e) - alpha * fall / math.erfc(e) - math.sqrt(math.pi) * e / mu


def pavement_fit_ft(index_f_days: float) -> float:
    """Return the depth that a fit to bare pavements gives, an upper bound; from memory.

    x = -0.328 + 0.0578 sqrt(FI), in metres and Celsius degree-days.
    """
    celsius_days = index_f_days / F_DAYS_PER_C_DAY
    return max(0.0, -0.328 + 0.0578 * math.sqrt(celsius_days)) * FT_PER_M


def uplift_lb(diameter_in: float, frozen_in: float) -> float:
    """Return the pull with which freezing soil may lift a shaft of concrete by its sides."""
    return GRIP_PSF * math.pi * (diameter_in / 12) * (frozen_in / 12)
