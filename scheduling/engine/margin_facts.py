"""What a job's margin is worked out from, and a figure said three times."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal

NOTHING = Decimal(0)
PERCENT = Decimal(100)
MINUTES_IN_HOUR = Decimal(60)
LABOUR = "labour"
MATERIAL = "material"


@dataclass(frozen=True, kw_only=True, slots=True)
class Units:
    """Units of work of a phase: how many there are and how many are done, with hours to them."""

    name: str
    planned: int
    done: int


@dataclass(frozen=True, kw_only=True, slots=True)
class PhaseFacts:
    """One phase: the labour sold for it, and what was worked at it so far."""

    key: str
    name: str
    sold_hours: Decimal
    sold_cost: Decimal
    worked_min: int = 0
    worked_cost: Decimal = NOTHING
    is_finished: bool = False
    units: Units | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class KindFacts:
    """One kind of cost beside labour: what was estimated, and the receipts, if there are any."""

    key: str
    name: str
    sold: Decimal
    receipts: tuple[Decimal, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class BagFacts:
    """The job's bags: `used` in the posts `done` for which bags were counted; posts `left`."""

    planned: int
    used: Decimal
    done: int
    left: int
    cost_of_one: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class ChangeFacts:
    """What signed change orders add to price, direct cost and hours."""

    price: Decimal = NOTHING
    direct_cost: Decimal = NOTHING
    hours: Decimal = NOTHING


@dataclass(frozen=True, kw_only=True, slots=True)
class FirmRule:
    """The firm's rules as they were when the job was priced."""

    crew_rate: Decimal
    crew_size: int
    hours_per_day: Decimal
    overhead_method: str
    overhead_rate: Decimal
    commission_pct: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class JobFacts:
    """All that a job's margin is worked out from. Money as it was sold, changes apart.

    One of `kinds` is material; there is at least one phase.
    """

    price: Decimal
    overhead: Decimal
    commission: Decimal
    phases: tuple[PhaseFacts, ...]
    kinds: tuple[KindFacts, ...]
    changes: ChangeFacts = ChangeFacts()
    bags: BagFacts | None = None
    rule: FirmRule | None = None
    is_finished: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Triple:
    """One figure three times: as estimated with the signed changes, so far, and at the end."""

    estimated: Decimal = NOTHING
    actual: Decimal = NOTHING
    forecast: Decimal = NOTHING

    @property
    def moved(self) -> Decimal:
        """How far the forecast lies over the estimate."""
        return self.forecast - self.estimated

    @property
    def parts(self) -> tuple[Decimal, Decimal, Decimal]:
        """The three in their order."""
        return self.estimated, self.actual, self.forecast

    def each(self, change: Callable[[Decimal], Decimal]) -> "Triple":
        """Return the three, each changed alike."""
        estimated, actual, forecast = (change(part) for part in self.parts)
        return Triple(estimated=estimated, actual=actual, forecast=forecast)


def sum_of(triples: Iterable[Triple]) -> Triple:
    """Return the three sums."""
    rows = [triple.parts for triple in triples]
    estimated, actual, forecast = (sum(column, NOTHING) for column in zip(*rows, strict=True))
    return Triple(estimated=estimated, actual=actual, forecast=forecast)
