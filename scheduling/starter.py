"""The starter set scheduling begins with: how concrete hardens, how long posts wait; and rain."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scheduling.engine.cure import LEAST_STRENGTH_PSI, CureMix, CureTable, CureWait, Work
from scheduling.engine.maturity import MaturityRule, Method, StrengthCurve
from scheduling.engine.plan import Phase
from scheduling.engine.weather_advice import WeatherAdvice

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True, kw_only=True, slots=True)
class Hardening:
    """How warmth counts, and the strength curves of cements by their keys."""

    rule: MaturityRule
    curves: Mapping[str, StrengthCurve]


def load_hardening() -> Hardening:
    """Return how concrete gains strength, as a new installation begins."""
    document = tomllib.loads((DATA / "maturity.toml").read_text(encoding="utf-8"))
    rule = document["rule"]
    return Hardening(
        rule=MaturityRule(**rule | {"method": Method(rule["method"])}),
        curves={key: StrengthCurve(**row) for key, row in document["cement"].items()},
    )


def load_cure_table() -> CureTable:
    """Return the mixes and their waits a new installation begins with."""
    document = tomllib.loads((DATA / "cure.toml").read_text(encoding="utf-8"))
    hardening = load_hardening()
    return CureTable(
        mixes=tuple(_mix(row, hardening.curves) for row in document["mix"]), rule=hardening.rule
    )


def load_weather_advice() -> WeatherAdvice:
    """Return the figures of the advice for cold and for drying weather."""
    document = tomllib.loads((DATA / "weather_advice.toml").read_text(encoding="utf-8"))
    days = {f"{name}_days": int(count) for name, count in document["protection_days"].items()}
    return WeatherAdvice(**days, most_kg_m2_h=float(document["evaporation"]["most_kg_m2_h"]))


def load_rain_limits_in() -> dict[Phase, float]:
    """Return how much rain in a day each phase goes on in; a phase left out goes on in any."""
    document = tomllib.loads((DATA / "rain.toml").read_text(encoding="utf-8"))
    return {Phase(key): float(limit) for key, limit in document["limit_in"].items()}


def _mix(row: Mapping[str, Any], curves: Mapping[str, StrengthCurve]) -> CureMix:
    return CureMix(
        key=row["key"],
        name=row["name"],
        cold_words=row["cold_words"],
        waits=tuple(
            CureWait(work=Work(wait["work"]), from_air_f=wait["from_air_f"], hours=wait["hours"])
            for wait in row["waits"]
        ),
        label_hours={Work(work): hours for work, hours in row["label_hours"].items()},
        curve=curves[row["cement"]] if "cement" in row else None,
        strength_parts={Work(work): part for work, part in row.get("strength_parts", {}).items()},
        strength_psi=row.get("strength_psi", LEAST_STRENGTH_PSI),
    )
