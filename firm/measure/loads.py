"""Weights, forces, pressures and speeds of wind, kept in pounds and feet, in the firm's units.

A metric firm sees kilograms where something is weighed and newtons where something pushes. The
factors follow from three that are exact (NIST SP 811, edition 2008, appendix B): the pound, the
foot and standard gravity. Units for heat are those of NIST's international table BTU.
"""

import re
from dataclasses import dataclass, field

from firm.measure.units import IN_PER_FT
from firm.measure.written import (
    CUBIC_M_PER_CUBIC_YD,
    LITRES_PER_CUBIC_FT,
    M_PER_FT,
    METRIC,
    cubic_feet,
    cubic_yards,
    lengths_in,
)

KG_PER_LB = 0.45359237
STANDARD_GRAVITY = 9.80665  # m/s2
N_PER_LB = KG_PER_LB * STANDARD_GRAVITY
KPA_PER_PSF = N_PER_LB / M_PER_FT**2 / 1000
MPA_PER_PSI = KPA_PER_PSF * IN_PER_FT**2 / 1000
M_S_PER_MPH = 0.44704  # 5280 ft in 3600 s
KM_H_PER_MPH = 1.609344
CM_PER_IN = 2.54
J_PER_BTU = 1055.05585262
W_M_K_PER_BTU = J_PER_BTU / 3600 / M_PER_FT * 9 / 5  # of a conductivity in BTU/(h ft F)


@dataclass(frozen=True, kw_only=True, slots=True)
class Measure:
    """A kind of figure: its units, how many metric ones one is worth, how finely it is shown.

    It may be typed in units of `also` too, each with what one is worth in the unit it is kept in.
    """

    us: str
    metric: str
    metric_per_us: float
    us_places: int
    metric_places: int
    also: dict[str, float] = field(default_factory=dict)

    def unit(self, units: str) -> str:
        """Return the unit in which a firm is shown this."""
        return self.metric if units == METRIC else self.us

    def shown(self, value: float, units: str) -> float:
        """Return the figure in the firm's unit."""
        return value * self.metric_per_us if units == METRIC else value

    def places(self, units: str) -> int:
        """Return how many decimals a page gives it."""
        return self.metric_places if units == METRIC else self.us_places

    def typed_places(self, units: str) -> int:
        """Return how many decimals a form gives it at most: all, in the unit it is kept in."""
        return self.metric_places + 1 if units == METRIC else 6

    def typed(self, unit: str) -> float | None:
        """Return what one of a typed unit is worth in the unit this is kept in, None if unknown."""
        known = {self.us: 1.0, self.metric: 1 / self.metric_per_us, **self.also}
        plain = {_plain(name): worth for name, worth in known.items()}
        return plain.get(_plain(unit))

    def written(self, value: float, units: str) -> str:
        """Return a figure with its unit, as finely as a page shows it: 1240 lb, or 5.52 kN."""
        return f"{self.shown(value, units):.{self.places(units)}f} {self.unit(units)}"

    def exact(self, value: float, units: str) -> str:
        """Return a figure with its unit and its decimals: 46,000 psi, or 317.16 MPa."""
        number = plain_number(self.shown(value, units), self.typed_places(units))
        whole, point, part = number.partition(".")
        return f"{int(whole):,}{point}{part} {self.unit(units)}"


# A weight, a stress or a volume in words: 100 lb, 1,200 psi, 12.50 yd3. A size of goods such as an
# 80 lb bag is none.
_LOAD_IN_WORDS = re.compile(
    r"(?<![\w/.,$-])(?P<number>\d{1,3}(?:,\d{3})+|\d+(?:\.\d+)?) (?P<unit>lb|psi|ft3|yd3)\b"
    r"(?! bags?\b)"
)


def in_units(text: str, units: str) -> str:
    """Return a sentence of the engine, which counts in inches and pounds, in the firm's units."""
    if units != METRIC:
        return text
    return _LOAD_IN_WORDS.sub(_metric, lengths_in(text, units))


def _metric(found: re.Match[str]) -> str:
    number = float(found["number"].replace(",", ""))
    if found["unit"] == "lb":
        return WEIGHT.written(number, METRIC)
    if found["unit"] == "psi":
        return STRESS.written(number, METRIC)
    return (cubic_feet if found["unit"] == "ft3" else cubic_yards)(number, METRIC)


def plain_number(value: float, places: int) -> str:
    """Return a number without needless zeros: 3.5 of 3.500; one too small for them is not lost."""
    text = f"{value:.{places}f}"
    if value and not float(text):
        return f"{value:.2g}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _plain(unit: str) -> str:
    """Return a unit however it was spelled: kg/m2 for kg/m\N{SUPERSCRIPT TWO}."""
    spelled = unit.lower().replace("\N{SUPERSCRIPT TWO}", "2").replace("\N{SUPERSCRIPT THREE}", "3")
    return "".join(letter for letter in spelled if letter not in " .\N{MIDDLE DOT}*^-")


SQUARED, CUBED = "\N{SUPERSCRIPT TWO}", "\N{SUPERSCRIPT THREE}"
WEIGHT = Measure(
    us="lb", metric="kg", metric_per_us=KG_PER_LB, us_places=0, metric_places=0, also={"lbs": 1.0}
)
WEIGHT_OF_AREA = Measure(
    us="lb a square foot",
    metric=f"kg/m{SQUARED}",
    metric_per_us=KG_PER_LB / M_PER_FT**2,
    us_places=1,
    metric_places=1,
    also={"lb/ft2": 1.0, "psf": 1.0},
)
DENSITY = Measure(
    us="lb/ft3",
    metric=f"kg/m{CUBED}",
    metric_per_us=KG_PER_LB / M_PER_FT**3,
    us_places=0,
    metric_places=0,
)
FORCE = Measure(us="lb", metric="kN", metric_per_us=N_PER_LB / 1000, us_places=0, metric_places=2)
MOMENT = Measure(
    us="lb-ft",
    metric="kN\N{MIDDLE DOT}m",
    metric_per_us=N_PER_LB * M_PER_FT / 1000,
    us_places=0,
    metric_places=2,
)
PRESSURE = Measure(us="psf", metric="kPa", metric_per_us=KPA_PER_PSF, us_places=1, metric_places=2)
PRESSURE_OF_DEPTH = Measure(
    us="psf",
    metric="kPa",
    metric_per_us=KPA_PER_PSF / M_PER_FT,
    us_places=0,
    metric_places=1,
)
STRESS = Measure(
    us="psi",
    metric="MPa",
    metric_per_us=MPA_PER_PSI,
    us_places=0,
    metric_places=1,
    also={
        "ksi": 1000.0,
        "kPa": 1 / MPA_PER_PSI / 1000,
        "N/mm2": 1 / MPA_PER_PSI,
    },
)
WIND_SPEED = Measure(
    us="mph",
    metric="m/s",
    metric_per_us=M_S_PER_MPH,
    us_places=1,
    metric_places=0,
    also={"km/h": 1 / KM_H_PER_MPH, "kmh": 1 / KM_H_PER_MPH, "kph": 1 / KM_H_PER_MPH},
)
SECTION = Measure(
    us=f"in{CUBED}",
    metric=f"cm{CUBED}",
    metric_per_us=CM_PER_IN**3,
    us_places=3,
    metric_places=1,
    also={"mm3": 1 / CM_PER_IN**3 / 1000},
)
AREA = Measure(
    us=f"in{SQUARED}",
    metric=f"cm{SQUARED}",
    metric_per_us=CM_PER_IN**2,
    us_places=2,
    metric_places=2,
    also={"mm2": 1 / CM_PER_IN**2 / 100},
)
WALL = Measure(
    us="inches",
    metric="mm",
    metric_per_us=CM_PER_IN * 10,
    us_places=3,
    metric_places=2,
    also={"in": 1.0, '"': 1.0, "cm": 1 / CM_PER_IN},
)
HOURS_OF_LENGTH = Measure(
    us="h a foot", metric="h a metre", metric_per_us=1 / M_PER_FT, us_places=4, metric_places=4
)
HOURS_OF_VOLUME = Measure(
    us="h a cubic yard",
    metric="h a cubic metre",
    metric_per_us=1 / CUBIC_M_PER_CUBIC_YD,
    us_places=4,
    metric_places=4,
)
VOLUME = Measure(
    us="ft3",
    metric="litres",
    metric_per_us=LITRES_PER_CUBIC_FT,
    us_places=2,
    metric_places=1,
    also={"l": 1 / LITRES_PER_CUBIC_FT, "litre": 1 / LITRES_PER_CUBIC_FT},
)
CONDUCTIVITY = Measure(
    us="BTU/h ft F",
    metric="W/(m\N{MIDDLE DOT}K)",
    metric_per_us=W_M_K_PER_BTU,
    us_places=3,
    metric_places=2,
)
HEAT_OF_VOLUME = Measure(
    us="BTU/ft3",
    metric=f"kJ/m{CUBED}",
    metric_per_us=J_PER_BTU / 1000 / M_PER_FT**3,
    us_places=0,
    metric_places=0,
)
HEAT_CAPACITY = Measure(
    us="BTU/ft3 F",
    metric=f"kJ/(m{CUBED}\N{MIDDLE DOT}K)",
    metric_per_us=J_PER_BTU / 1000 / M_PER_FT**3 * 9 / 5,
    us_places=2,
    metric_places=0,
)
