"""Where words go on a drawing so that no two of them overlap."""

import math
from dataclasses import dataclass, field

LETTER_WIDTH = 0.56  # of the font's size, an average of upright sans-serif digits


@dataclass(frozen=True, kw_only=True, slots=True)
class Spot:
    """A round piece of paper that is taken."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Label:
    """Words at a place: centred on x, y and turned by `angle_deg` (clockwise, as SVG turns)."""

    text: str
    x: float
    y: float
    size: float
    angle_deg: float = 0.0

    def spots(self) -> list[Spot]:
        """Return the paper these words take, as a row of circles along them."""
        length = len(self.text) * self.size * LETTER_WIDTH
        radius = self.size * 0.55
        count = max(1, math.ceil(length / self.size))
        angle = math.radians(self.angle_deg)
        spots = []
        for i in range(count):
            along = length * ((i + 0.5) / count - 0.5)
            spots.append(
                Spot(
                    x=self.x + along * math.cos(angle),
                    y=self.y + along * math.sin(angle),
                    radius=radius,
                )
            )
        return spots


@dataclass(slots=True)
class Paper:
    """The paper already taken, in a grid of squares so that looking is quick."""

    width: float
    height: float
    square: float = 24.0
    taken: dict[tuple[int, int], list[Spot]] = field(default_factory=dict)

    def is_free(self, spot: Spot) -> bool:
        """Return whether nothing lies within `spot`, which must lie on the paper."""
        inside = (
            spot.radius <= spot.x <= self.width - spot.radius
            and spot.radius <= spot.y <= self.height - spot.radius
        )
        if not inside:
            return False
        column, row = self._square_of(spot)
        for near_column in range(column - 1, column + 2):
            for near_row in range(row - 1, row + 2):
                for other in self.taken.get((near_column, near_row), ()):
                    if math.hypot(spot.x - other.x, spot.y - other.y) < spot.radius + other.radius:
                        return False
        return True

    def take(self, spot: Spot) -> None:
        """Keep others off this spot."""
        self.taken.setdefault(self._square_of(spot), []).append(spot)

    def place(self, candidates: list[Label]) -> Label | None:
        """Take the paper of the first candidate that is free; None where none is."""
        for label in candidates:
            spots = label.spots()
            if all(self.is_free(spot) for spot in spots):
                for spot in spots:
                    self.take(spot)
                return label
        return None

    def _square_of(self, spot: Spot) -> tuple[int, int]:
        return math.floor(spot.x / self.square), math.floor(spot.y / self.square)
