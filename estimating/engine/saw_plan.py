"""The saw list as an estimate keeps it: bars, what each is cut into, and what is proven."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class CutPiece:
    """Pieces of one length out of one bar."""

    length_in: float
    pieces: int


@dataclass(frozen=True, kw_only=True, slots=True)
class CutBar:
    """Bars of one item that are cut alike, and what is left of each."""

    item: str
    stock_length_in: float
    bars: int
    pieces: tuple[CutPiece, ...]
    offcut_in: float
    is_kept: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class CutPlan:
    """How everything of one material is cut from its stock lengths, for the whole job.

    `is_proven`: no plan costs less, and none of the same cost takes fewer bars. Otherwise none
    costs less than `least_cost`. Costs are those of the bars alone, without spare.
    """

    item: str
    items: tuple[str, ...]
    kerf_in: float
    keep_from_in: float
    bars: tuple[CutBar, ...]
    cost: Decimal
    least_cost: Decimal
    is_proven: bool
    first_fit_cost: Decimal
    first_fit_bars: int

    @property
    def bar_count(self) -> int:
        """How many bars are cut."""
        return sum(bar.bars for bar in self.bars)

    @property
    def has_one_length(self) -> bool:
        """Whether there is only one length to cut from, so that cheapest means fewest."""
        return len(self.items) == 1
