"""The building code's classes of soil, and which stands for each of the firm's soils."""

from estimating.engine.embedment import CLASS_WORDS, LATERAL_PSF_PER_FT
from estimating.mapping import rules_data
from firm.selectors.profile import firm_profile


def bearing_choices() -> list[tuple[str, str]]:
    """Return the code's classes, each with the sideways pressure it may take."""
    return [
        (key, f"{LATERAL_PSF_PER_FT[key]:,.0f} psf a foot of depth: {words}")
        for key, words in CLASS_WORDS.items()
    ]


def soil_bearing() -> dict[str, str]:
    """Return the class that stands for each of the firm's soils today."""
    chosen: dict[str, str] = rules_data(firm_profile())["soil_bearing"]
    return chosen
