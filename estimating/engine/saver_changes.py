"""What a saver hint would change: on a measured site, made to its document itself, or in what is
bought, as a figure set by hand.

The document or figure that a hint was worked out with is the very one that is kept when taken.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import accumulate
from typing import Any, Literal

from estimating.engine.catalog import Override
from estimating.engine.geometry import step_from
from estimating.engine.site import FenceLine, Site, Spread

End = Literal["start", "end"]
# A thousandth of an inch: start points off the grid come from bearings, not from a tape.
POINT_PLACES = 3
LONGEST_REASON = 200  # of a figure set by hand


@dataclass(frozen=True, kw_only=True, slots=True)
class MoveGate:
    """A gate's opening set `by_in` further along the tape, towards the start where negative."""

    line_id: str
    gate_id: str
    by_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LegCut:
    """What a leg, counted from 0, loses at its start or at its end; it gains where negative."""

    leg: int
    at: End
    by_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Shorten:
    """A line cut back: one leg at a free end, or two opposite legs, so that what lies between
    them stands back as a whole."""

    line_id: str
    cuts: tuple[LegCut, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class SharePost:
    """A line's end that uses another line's post; its leg grows `longer_in` to reach it."""

    line_id: str
    at: End
    with_line: str
    with_at: str
    longer_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class DivideAnew:
    """A line's sections divided into bays the other way."""

    line_id: str
    division: Spread


@dataclass(frozen=True, kw_only=True, slots=True)
class DropPin:
    """A bay that the office set on its ground by hand, left to the engine again."""

    line_id: str
    station_in: float


BayName = tuple[str, int]  # its line, and its number there


@dataclass(frozen=True, kw_only=True, slots=True)
class UseOffcuts:
    """Fewer panels bought, since the offcut of each pair's first bay makes its second.

    It changes what is bought, not the site: `units` is the purchase quantity set by hand.
    """

    item: str
    name: str
    units: int
    pairs: tuple[tuple[BayName, BayName], ...]

    @property
    def override(self) -> Override:
        """The figure set by hand that buys so many, with its reason."""
        pairs = [f"offcut of {a[0]} bay {a[1]} makes {b[0]} bay {b[1]}" for a, b in self.pairs]
        reason = "; ".join(pairs)
        if len(reason) > LONGEST_REASON:
            reason = f"offcuts make {len(pairs)} shorter bays"
        return Override(target=f"quantity:{self.item}", value=Decimal(self.units), reason=reason)


SiteChange = MoveGate | Shorten | SharePost | DivideAnew | DropPin
Change = SiteChange | UseOffcuts


def change_document(document: Mapping[str, Any], site: Site, change: SiteChange) -> dict[str, Any]:
    """Return the document of a site with one change made; what was handed in stays as it was."""
    line = next(line for line in site.lines if line.id == change.line_id)
    lines = list(document["lines"])
    # Lines that can't be read are left out of the site, so places in it and here may differ.
    number = next(
        i
        for i, fields in enumerate(lines)
        if isinstance(fields, Mapping) and fields.get("id") == line.id
    )
    lines[number] = _changed(_by_legs(lines[number], line), change)
    return {**document, "lines": lines}


def _by_legs(fields: Mapping[str, Any], line: FenceLine) -> dict[str, Any]:
    """Return a line's fields with legs in place of points, which can't be cut one by one."""
    own = dict(fields)
    if own.pop("points", None) is not None:
        own |= {
            "start_x_in": line.start_x_in,
            "start_y_in": line.start_y_in,
            "bearing_deg": line.bearing_deg,
            "legs": [{"length_in": leg.length_in, "turn_deg": leg.turn_deg} for leg in line.legs],
        }
    return own


def _changed(line: dict[str, Any], change: SiteChange) -> dict[str, Any]:
    match change:
        case MoveGate():
            return _with_gate_moved(line, change)
        case Shorten():
            return _with_cuts(line, change.cuts)
        case SharePost():
            return _with_shared_post(line, change)
        case DivideAnew():
            return {**line, "division": change.division}
        case DropPin():
            pins = [pin for pin in line["bay_pins"] if pin["station_in"] != change.station_in]
            return {**line, "bay_pins": pins}


def _with_gate_moved(line: dict[str, Any], change: MoveGate) -> dict[str, Any]:
    gates = [
        {**gate, "station_in": gate["station_in"] + change.by_in}
        if gate["id"] == change.gate_id
        else gate
        for gate in line["gates"]
    ]
    return {**line, "gates": gates}


def _with_cuts(line: dict[str, Any], cuts: Sequence[LegCut]) -> dict[str, Any]:
    """Return the line with its legs cut and all its stations where they are read then."""
    lengths = [leg["length_in"] for leg in line["legs"]]
    by_leg: dict[int, float] = {}
    for cut in cuts:
        by_leg[cut.leg] = by_leg.get(cut.leg, 0.0) + cut.by_in
    legs = [
        {**leg, "length_in": leg["length_in"] - by_leg.get(number, 0.0)}
        for number, leg in enumerate(line["legs"])
    ]
    changed = {**line, "legs": legs}
    for name in ("gates", "ground", "no_dig", "bay_pins", "fixed_points"):
        if name in line:
            changed[name] = [
                {**each, "station_in": _station_after(each["station_in"], lengths, cuts)}
                for each in line[name]
            ]
    return changed | _start_after(line, cuts)


def _station_after(taped_in: float, lengths: Sequence[float], cuts: Sequence[LegCut]) -> float:
    """Return what the tape reads at a place once the pieces are out.

    What lay within a piece lies at its joint then. A new zero moves every reading alike.
    """
    ends = [*accumulate(lengths, initial=0.0)]
    gone_in = 0.0
    for cut in cuts:
        if cut.leg == 0 and cut.at == "start":
            gone_in += cut.by_in
        elif cut.by_in > 0:
            from_in = ends[cut.leg] if cut.at == "start" else ends[cut.leg + 1] - cut.by_in
            gone_in += min(max(taped_in - from_in, 0.0), cut.by_in)
    return taped_in - gone_in


def _start_after(line: Mapping[str, Any], cuts: Sequence[LegCut]) -> dict[str, Any]:
    by_in = sum(cut.by_in for cut in cuts if cut.leg == 0 and cut.at == "start")
    if not by_in:
        return {}
    start = (line.get("start_x_in", 0.0), line.get("start_y_in", 0.0))
    x_in, y_in = step_from(start, line.get("bearing_deg", 90.0), by_in)
    return {"start_x_in": round(x_in, POINT_PLACES), "start_y_in": round(y_in, POINT_PLACES)}


def _with_shared_post(line: dict[str, Any], change: SharePost) -> dict[str, Any]:
    last = len(line["legs"]) - 1
    cut = LegCut(leg=0 if change.at == "start" else last, at=change.at, by_in=-change.longer_in)
    reaching = _with_cuts(line, (cut,))
    shared = {
        "kind": "shared_post",
        "shared_line": change.with_line,
        "shared_at": change.with_at,
    }
    if change.at == "start":
        # It is drawn from the other line's post from now on.
        reaching.pop("start_x_in", None)
        reaching.pop("start_y_in", None)
    return {**reaching, change.at: shared}
