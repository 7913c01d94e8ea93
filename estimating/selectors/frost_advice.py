"""Frost depth by climate, as advice beside a town's adopted figure."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from estimating.engine.frost import (
    FrozenGround,
    berggren_ft,
    pavement_fit_ft,
    stefan_ft,
    uplift_lb,
)
from estimating.starter import load_frost_data
from firm.measure import loads
from firm.measure.written import METRIC

IN_PER_FT = 12.0
SHAFT_IN = 12.0


@dataclass(frozen=True, kw_only=True, slots=True)
class FrostAdvice:
    """Depths by three formulas, to the inch, and how hard frost may pull at a shaft."""

    berggren_in: float
    stefan_in: float
    pavement_in: float
    uplift_lb: float
    shaft_in: float
    ground: FrozenGround

    @property
    def uplift_kn(self) -> float:
        """The pull in kilonewtons."""
        return loads.FORCE.shown(self.uplift_lb, METRIC)

    @property
    def dry_kg_m3(self) -> float:
        """The dry density of the soil."""
        return loads.DENSITY.shown(self.ground.dry_lb_ft3, METRIC)

    @property
    def conductivity_w_m_k(self) -> float:
        """The conductivity of the soil."""
        return loads.CONDUCTIVITY.shown(self.ground.conductivity, METRIC)

    @property
    def latent_mj_m3(self) -> float:
        """What its water gives off as it freezes."""
        return loads.HEAT_OF_VOLUME.shown(self.ground.latent_btu_ft3, METRIC) / 1000

    @property
    def capacity_mj_m3_k(self) -> float:
        """What it takes to warm the soil by a degree."""
        return loads.HEAT_CAPACITY.shown(self.ground.capacity_btu_ft3_f, METRIC) / 1000


@cache
def frost_data() -> dict[str, Any]:
    """Return the soils and surfaces; a file that doesn't change while the program runs."""
    return load_frost_data()


def frost_choices(kind: str) -> list[tuple[str, str]]:
    """Return the soils or the surfaces as a form offers them."""
    return [(key, row["name"]) for key, row in frost_data()[kind].items()]


def frost_advice(
    *, index_f_days: float, freezing_days: float, mean_annual_f: float, soil: str, surface: str
) -> FrostAdvice:
    """Return the depths for a winter over one uniform soil."""
    of_soil = frost_data()["soils"][soil]
    ground = FrozenGround(
        index_f_days=index_f_days,
        surface_factor=frost_data()["surfaces"][surface]["factor"],
        conductivity=of_soil["conductivity"],
        dry_lb_ft3=of_soil["dry_lb_ft3"],
        water_pct=of_soil["water_pct"],
        freezing_days=freezing_days,
        mean_annual_f=mean_annual_f,
    )
    depth_in = berggren_ft(ground) * IN_PER_FT
    return FrostAdvice(
        berggren_in=round(depth_in),
        stefan_in=round(stefan_ft(ground) * IN_PER_FT),
        pavement_in=round(pavement_fit_ft(index_f_days) * IN_PER_FT),
        uplift_lb=uplift_lb(SHAFT_IN, depth_in),
        shaft_in=SHAFT_IN,
        ground=ground,
    )
