"""The ways for a job's concrete under the names that a page shows."""

from dataclasses import dataclass

from estimating.engine.concrete import Concrete, ConcreteWay

KIND_WORDS = {
    "mixer": "Cement, sand and gravel in a mixer",
    "ready_mix": "Ready-mixed, by truck",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class WayRow:
    """One way with its name."""

    way: ConcreteWay
    name: str


def way_rows(concrete: Concrete) -> list[WayRow]:
    """Return the ways side by side; bags go by the name of their size."""
    return [
        WayRow(way=way, name=KIND_WORDS.get(way.kind, way.buys[0].name)) for way in concrete.ways
    ]


def comes_in_bags(concrete: Concrete) -> bool:
    """Say whether the estimate is priced with bags."""
    return concrete.chosen is None or concrete.chosen.kind == "bags"
