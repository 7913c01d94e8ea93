"""Advice for a pour in cold or drying weather: how long to protect it, how fast its top dries.

Advice for planning, no proof: local code, the maker's sheet and the design rule over it.
"""

import math
from dataclasses import dataclass

from scheduling.engine.errors import EngineError

FREEZING_F = 32.0
F_PER_C = 1.8
KM_H_PER_MPH = 1.609344
LB_FT2_PER_KG_M2 = 0.3048**2 / 0.45359237
MOST_PCT = 100.0


@dataclass(frozen=True, kw_only=True, slots=True)
class WeatherAdvice:
    """The firm's figures: days of protection by load and cement, and the most that may evaporate.

    `no_load` holds posts that carry nothing until the protection ends, `part_load` such as carry
    panels before.
    """

    no_load_days: int
    part_load_days: int
    no_load_accelerated_days: int
    part_load_accelerated_days: int
    most_kg_m2_h: float

    def cold_words(self) -> str:
        """Return how long to protect a pour that meets air under the cold limit."""
        return (
            f"Protect it for {self.no_load_days} days where nothing hangs on the posts meanwhile, "
            f"for {self.part_load_days} where panels do (ACI 306R, concrete that stays out in "
            f"frost); with type III cement or an accelerator for {self.no_load_accelerated_days} "
            f"and {self.part_load_accelerated_days}."
        )

    def is_too_fast(self, kg_m2_h: float) -> bool:
        """Say whether fresh concrete dries faster than it may."""
        return kg_m2_h > self.most_kg_m2_h

    def drying_words(self, kg_m2_h: float, *, is_metric: bool) -> str:
        """Return how fast the concrete's top dries, and what to do where that is too fast."""
        unit = "kg/m\N{SUPERSCRIPT TWO}" if is_metric else "lb/ft\N{SUPERSCRIPT TWO}"
        factor = 1.0 if is_metric else LB_FT2_PER_KG_M2
        rate, most = (f"{each * factor:.2f}" for each in (kg_m2_h, self.most_kg_m2_h))
        said = f"About {rate} {unit} of water leaves its top in an hour"
        if self.is_too_fast(kg_m2_h):
            return (
                f"{said}, more than the {most} from which ACI 305R wants it kept from drying: "
                "shade it, shelter it from wind, keep its top damp or covered."
            )
        return f"{said}; ACI 305R wants it kept from drying from {most} on."


def evaporation_kg_m2_h(
    *, concrete_f: float, air_f: float, humidity_pct: float, wind_mph: float
) -> float:
    """Return how much water leaves fresh concrete, in kg a square metre an hour; never under none.

    Uno's formula (1998) for the chart of ACI 305R: with temperatures in Celsius, humidity as a part
    and wind in km/h, 5 ((Tc + 18)^2.5 - r (Ta + 18)^2.5) (V + 4) / 10^6. Others who measured found
    it off by up to two fifths either way.

    Raises:
        EngineError: a figure is none, or such as is not found out of doors.
    """
    named = {"concrete_f": concrete_f, "air_f": air_f, "wind_mph": wind_mph}
    for field, value in named.items():
        if not math.isfinite(value):
            raise EngineError("Give a figure.", field=field)
    if not 0.0 <= humidity_pct <= MOST_PCT:
        raise EngineError("Give the humidity from 0 to 100 %.", field="humidity_pct")
    if wind_mph < 0:
        raise EngineError("Give the wind as 0 or more.", field="wind_mph")
    # Under -18 C the formula has no meaning; nothing is poured there.
    concrete, air = (max((each - FREEZING_F) / F_PER_C + 18.0, 0.0) for each in (concrete_f, air_f))
    pull = math.pow(concrete, 2.5) - humidity_pct / MOST_PCT * math.pow(air, 2.5)
    return max(5.0 * pull * (wind_mph * KM_H_PER_MPH + 4.0) * 1e-6, 0.0)
