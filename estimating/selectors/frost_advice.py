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

IN_PER_FT = 12.0
SHAFT_IN = 12.0
KN_PER_LB = 0.00444822


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
        return self.uplift_lb * KN_PER_LB


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
