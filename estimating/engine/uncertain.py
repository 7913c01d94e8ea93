"""What the firm is not sure of: by how much a figure of an estimate may turn out otherwise."""

from dataclasses import dataclass
from typing import Literal, get_args

from estimating.engine.errors import EngineError
from estimating.engine.result import Phase

Shape = Literal["triangular", "chance"]
# Hours of a phase, the bags of concrete, all material, each hole for itself, one more trip.
Target = Literal[
    "hours:removal",
    "hours:layout",
    "hours:dig",
    "hours:set",
    "hours:hang",
    "hours:gates",
    "hours:clean_up",
    "concrete",
    "material",
    "rock_hole",
    "return_trip",
]
COUNTED: tuple[Target, ...] = ("rock_hole", "return_trip")  # these happen or not
LOWEST_PCT = -90.0
HIGHEST_PCT = 1000.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Uncertain:
    """One row that the firm marks uncertain.

    A triangular row turns out from `low_pct` to `high_pct` more than estimated, most likely
    `likely_pct`; less where negative. A chance comes true in `chance_pct` of all cases and adds
    `extra`: per cent of the figure, or labour hours for a hole in rock and for one more trip.
    """

    key: str
    name: str
    target: Target
    shape: Shape = "triangular"
    low_pct: float = 0.0
    likely_pct: float = 0.0
    high_pct: float = 0.0
    chance_pct: float = 0.0
    extra: float = 0.0

    def __post_init__(self) -> None:
        if self.target not in get_args(Target):
            raise EngineError(f"'{self.target}' is nothing that can be uncertain.", field="target")
        if self.shape == "triangular" and self.target in COUNTED:
            raise EngineError(
                "A hole in rock and one more trip come true or not: give a chance and its hours.",
                field="shape",
            )
        if not LOWEST_PCT <= self.low_pct <= self.likely_pct <= self.high_pct <= HIGHEST_PCT:
            raise EngineError(
                f"Low, likely and high must rise in this order, from {LOWEST_PCT:g} % to "
                f"{HIGHEST_PCT:g} %: they are {self.low_pct:g}, {self.likely_pct:g} and "
                f"{self.high_pct:g}.",
                field="likely_pct",
            )
        if not 0 <= self.chance_pct <= 100:
            raise EngineError("A chance lies between 0 % and 100 %.", field="chance_pct")
        if not 0 <= self.extra <= HIGHEST_PCT:
            raise EngineError(
                f"What a chance adds lies between 0 and {HIGHEST_PCT:g}.", field="extra"
            )

    @property
    def phase(self) -> Phase | None:
        """The phase whose hours are uncertain, if they are hours."""
        kind, _, name = self.target.partition(":")
        return name if kind == "hours" else None  # type: ignore[return-value]  # Target names phases
