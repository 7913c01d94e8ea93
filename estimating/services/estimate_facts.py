"""What a proposal needs to know of an estimate, read from its stored document and result."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Any

Json = Mapping[str, Any]
# Nearer than half a sixteenth two bays stand at one height.
LEVEL_IN = 1 / 32
DRIVEN = "driven into the ground"
# In the order people name them.
POST_KINDS = ("end", "corner", "gate", "pull", "line")


@dataclass(frozen=True, kw_only=True, slots=True)
class GateFacts:
    """A gate as the customer will use it."""

    id: str
    clear_opening_in: float
    leaves: int
    use: str
    hinge_side: str
    swing: str
    latch: str
    station_in: float
    kind: str = "swing"
    leaf_widths_in: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class LineFacts:
    """One line: what stands where."""

    name: str
    yard: str
    system_name: str
    height_in: float
    scope: str
    finished_face: str
    length_in: float
    fence_ft: float
    posts: Mapping[str, int]
    bays: int
    least_hole_depth_in: float
    hole_depth_in: float
    gates: tuple[GateFacts, ...]
    setting: str = "set in concrete"
    plan_points: tuple[tuple[float, float], ...] = ()
    old_footings: int = 0
    steps_in: tuple[float, ...] = ()  # how high each step is, along the line
    widest_gap_in: float = 0.0  # under the fence


@dataclass(frozen=True, kw_only=True, slots=True)
class PricePart:
    """A part of the price before tax, or an option with its tax."""

    key: str
    description: str
    amount: Decimal
    fence_ft: float = 0.0
    has_gates: bool = False
    opening_in: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Caution:
    """A finding that stops the work or wants a look."""

    severity: str
    message: str
    place: str


@dataclass(frozen=True, kw_only=True, slots=True)
class EstimateFacts:
    """Everything a proposal says of an estimate."""

    lines: tuple[LineFacts, ...]
    parts: tuple[PricePart, ...]
    options: tuple[PricePart, ...]
    price_before_tax: Decimal
    sales_tax: Decimal
    price: Decimal
    findings: tuple[Caution, ...]
    has_pool: bool
    hauls_spoil: bool


def read_facts(*, document: Json, catalog: Json, result: Json) -> EstimateFacts:
    """Return the facts of a stored estimate; a repair has no document and so no lines."""
    money = result.get("money") or {}
    conditions = document.get("conditions") or {}
    measured = {line["id"]: line for line in document.get("lines", ())}
    systems = catalog.get("fence_systems") or {}
    holes = {hole["post_number"]: hole for hole in result.get("holes", ())}
    return EstimateFacts(
        lines=tuple(
            _line(line, measured.get(line["line_id"], {}), systems.get(line["system"], {}), holes)
            for line in result.get("lines", ())
        ),
        parts=tuple(_parts(result)),
        options=tuple(_option(option) for option in result.get("options", ())),
        price_before_tax=Decimal(str(money.get("price_before_tax", 0))),
        sales_tax=Decimal(str(money.get("sales_tax", 0))),
        price=Decimal(str(money.get("price", 0))),
        findings=tuple(
            Caution(
                severity=finding["severity"],
                message=finding["message"],
                place=finding.get("place", ""),
            )
            for finding in result.get("findings", ())
        ),
        has_pool=bool(conditions.get("pool_barrier"))
        or any(gate["use"] == "pool" for line in result.get("lines", ()) for gate in line["gates"]),
        hauls_spoil=conditions.get("spoil", "spread") == "haul",
    )


def _line(line: Json, measured: Json, system: Json, holes: Mapping[int, Json]) -> LineFacts:
    counted = Counter(post["kind"] for post in line["posts"])
    own_holes = [holes[post["number"]] for post in line["posts"] if post["number"] in holes]
    own = [hole["depth_in"] for hole in own_holes]
    return LineFacts(
        name=line["name"],
        yard=measured.get("yard", "rear"),
        system_name=system.get("name", line["system"].replace("_", " ")),
        height_in=float(system.get("height_in", 0)),
        scope=line["scope"],
        finished_face=line["finished_face"],
        length_in=line["length_in"],
        fence_ft=line["fence_ft"],
        posts={kind: counted[kind] for kind in POST_KINDS if counted[kind]},
        bays=len(line["bays"]),
        plan_points=tuple((x, y) for x, y in line.get("plan_points", ())),
        least_hole_depth_in=min(own, default=0.0),
        hole_depth_in=max(own, default=0.0),
        setting=_setting(own_holes),
        gates=tuple(
            GateFacts(
                id=gate["id"],
                clear_opening_in=gate["clear_opening_in"],
                leaves=gate["leaves"],
                use=gate["use"],
                hinge_side=gate["hinge_side"],
                swing=gate["swing"],
                latch=gate["latch"],
                station_in=gate["station_in"],
                kind=gate.get("kind", "swing"),
                leaf_widths_in=tuple(gate.get("leaf_widths_in", ())),
            )
            for gate in line["gates"]
        ),
        old_footings=line.get("old_footings", 0),
        steps_in=tuple(_steps_in(line["bays"])),
        widest_gap_in=max((bay.get("largest_gap_in", 0.0) for bay in line["bays"]), default=0.0),
    )


def _steps_in(bays: Sequence[Mapping[str, Any]]) -> Iterator[float]:
    """Yield the height of each post at which two bays stand at different heights."""
    for before, after in pairwise(bays):
        step_in = abs(after.get("base_start_in", 0.0) - before.get("base_end_in", 0.0))
        if before["to_post"] == after["from_post"] and step_in > LEVEL_IN:
            yield step_in


def _setting(holes: Sequence[Json]) -> str:
    """Return how a line's posts are set, as its holes show it."""
    ways = {
        DRIVEN: any(hole["diameter_in"] == 0 for hole in holes),
        "tamped in earth": any(
            hole["diameter_in"] > 0 and hole.get("concrete_ft3") == 0 for hole in holes
        ),
        "set in concrete": any(hole.get("concrete_ft3") != 0 for hole in holes),
    }
    return " or ".join(way for way, is_used in ways.items() if is_used) or "set in concrete"


def _parts(result: Json) -> Iterator[PricePart]:
    """Yield the parts of the price with the measures that their words name."""
    measures: dict[str, dict[str, Any]] = {}
    for line in result.get("lines", ()):
        measures[f"line:{line['line_id']}"] = {
            "fence_ft": line["fence_ft"],
            "has_gates": bool(line["gates"]),
        }
        for gate in line["gates"]:
            key = f"gate:{line['line_id']}:{gate['id']}"
            measures[key] = {"opening_in": gate["clear_opening_in"]}
    for part in result.get("price_lines", ()):
        yield PricePart(
            key=part["key"],
            description=part["description"],
            amount=Decimal(str(part["amount"])),
            **measures.get(part["key"], {}),
        )


def _option(option: Json) -> PricePart:
    tax = Decimal(str(option.get("tax_amount", 0)))
    return PricePart(
        key=option["key"],
        description=option["description"],
        amount=Decimal(str(option["amount"])) + tax,
    )
