"""The building code's classes of soil, and which stands for each of the firm's soils."""

from estimating.engine.embedment import CLASS_WORDS, LATERAL_PSF_PER_FT
from estimating.mapping import rules_data
from firm.measure import loads
from firm.measure.written import METRIC
from firm.selectors.profile import firm_profile, firm_units


def bearing_choices() -> list[tuple[str, str]]:
    """Return the code's classes, each with the sideways pressure it may take."""
    units = firm_units()
    depth = "metre" if units == METRIC else "foot"
    return [
        (key, f"{_pressure(key, units)} a {depth} of depth: {words}")
        for key, words in CLASS_WORDS.items()
    ]


def _pressure(key: str, units: str) -> str:
    kept_psf = LATERAL_PSF_PER_FT[key]
    in_metric = loads.PRESSURE_OF_DEPTH.written(kept_psf, units)
    return in_metric if units == METRIC else f"{kept_psf:,.0f} psf"


def soil_bearing() -> dict[str, str]:
    """Return the class that stands for each of the firm's soils today."""
    chosen: dict[str, str] = rules_data(firm_profile())["soil_bearing"]
    return chosen
