"""The posts of a line: kind, routing, number and place of each."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from estimating.engine.catalog import FenceSystem
from estimating.engine.frames import Frame, Join, PostPlace
from estimating.engine.geometry import turn_between
from estimating.engine.holds import OWN_POST, Hold
from estimating.engine.leaves import stronger_of
from estimating.engine.nearby import farthest_reach_in, places_near
from estimating.engine.nodig import Zone, must_hand_dig
from estimating.engine.products import SLIDE, product_for
from estimating.engine.result import Post, PostKind, Routing


@dataclass(frozen=True, kw_only=True, slots=True)
class _Stand:
    """A post to be: where it stands and what it is."""

    station_in: float
    kind: PostKind
    routing: Routing
    shared_with: str = ""
    turn_deg: float = 0.0
    size: str = ""


def posts_of(
    frame: Frame,
    joins: dict[PostPlace, list[Join]],
    zones: Sequence[Zone],
    first_number: int,
) -> tuple[Post, ...]:
    """Return a line's own posts in order, numbered from `first_number`."""
    if not frame.has_posts:
        return ()
    stands = [*_at_holds(frame, joins), *_between_holds(frame)]
    stands.sort(key=lambda stand: stand.station_in)
    zones = sorted(zones, key=lambda zone: zone.centre_in)
    centres = [zone.centre_in for zone in zones]
    reach_in = farthest_reach_in(frame.course.system, zones)
    return tuple(
        _post(
            frame,
            stand,
            number,
            [zones[i] for i in places_near(centres, stand.station_in, reach_in)],
        )
        for number, stand in enumerate(stands, first_number)
    )


def _at_holds(frame: Frame, joins: dict[PostPlace, list[Join]]) -> Iterable[_Stand]:
    for hold in frame.holds:
        if hold.kind not in OWN_POST:
            continue
        joining = joins.get((frame.line.id, hold.station_in), [])
        own = frame.fence_bearings(hold)
        bearings = [*own, *(each for join in joining for each in join.bearings)]
        # Fabric is banded to a post: only rails ask for a routed face.
        railed = [*own, *(each for join in joining if join.has_rails for each in join.bearings)]
        system = frame.course.system
        yield _Stand(
            station_in=hold.station_in,
            kind=_kind(hold, joining, bearings, system),
            routing="none" if hold.size == SLIDE else _routing(railed, system),
            shared_with=", ".join(join.line_id for join in joining),
            turn_deg=hold.turn_deg,
            size=_size(hold, joining, system),
        )


def _between_holds(frame: Frame) -> Iterable[_Stand]:
    routing: Routing = "none" if frame.course.system.family == "fabric" else "line"
    for span, lengths in zip(frame.spans, frame.bay_lengths, strict=True):
        station_in = span.start.station_in
        for length_in in lengths[:-1]:
            station_in += length_in
            yield _Stand(station_in=station_in, kind="line", routing=routing)


def _size(hold: Hold, joining: Sequence[Join], system: FenceSystem) -> str:
    """Return which gate post stands at a hold: the strongest that any gate there asks for."""
    size = hold.size
    for join in joining:
        size = stronger_of(system, size, join.gate_size)
    return size


def _kind(
    hold: Hold, joining: Sequence[Join], bearings: Sequence[float], system: FenceSystem
) -> PostKind:
    """Return what a post is once the lines that join it are known."""
    if hold.kind == "gate" or any(join.has_gate for join in joining):
        return "gate"
    if not joining:
        return {"bend": "line", "corner": "corner", "pull": "pull"}.get(hold.kind, "end")  # type: ignore[return-value]
    if hold.kind == "end" and len(bearings) == 2 and _is_straight(bearings, system):
        return "line" if system.family == "panel" else "end"
    return "corner"


def _routing(bearings: Sequence[float], system: FenceSystem) -> Routing:
    """Return which faces take rails, by the directions the fence leaves in."""
    if system.family == "fabric":
        return "none"
    if len(bearings) < 2:
        return "end" if bearings else "blank"
    if len(bearings) > 2:
        return "three_way"
    return "line" if _is_straight(bearings, system) else "corner"


def _is_straight(bearings: Sequence[float], system: FenceSystem) -> bool:
    return 180 - abs(turn_between(*bearings)) <= system.corner_turn_deg + 1e-6


def _post(frame: Frame, stand: _Stand, number: int, zones: Sequence[Zone]) -> Post:
    course = frame.course
    product = product_for(course.system, stand.kind, stand.size)
    x_in, y_in = course.point_at(stand.station_in)
    return Post(
        number=number,
        line_id=frame.line.id,
        kind=stand.kind,
        routing=stand.routing,
        product=product.item,
        width_in=product.width_in,
        length_in=product.length_in,
        station_in=stand.station_in,
        x_in=x_in,
        y_in=y_in,
        elevation_in=course.elevation_at(stand.station_in),
        hand_dig=must_hand_dig(course.system, product, stand.station_in, zones),
        shared_with=stand.shared_with,
        turn_deg=stand.turn_deg,
        size=stand.size,
    )
