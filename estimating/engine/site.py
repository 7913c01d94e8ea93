"""What was measured: fence lines, legs, ends, gates, ground shots and no-dig strips.

Lengths are inches on a 1/16 in grid; stations run along a line from its start point; angles are
degrees, turns clockwise positive (a right turn seen from above), bearings clockwise from north.
"""

from dataclasses import dataclass, field
from typing import Literal

from estimating.engine.wind import Exposure

Side = Literal["left", "right"]
Scope = Literal["whole_fence", "posts_only", "removal"]
Taped = Literal["level", "along_grade"]
Spread = Literal["", "equal", "full_and_short"]
EndKind = Literal["post", "wall", "existing_post", "shared_post"]
MeasuredAt = Literal["post_centre", "inner_face", "outer_face", "wall_face"]
GateUse = Literal["walk", "mower", "drive", "pool", "livestock"]
GateKind = Literal["swing", "slide"]
Yard = Literal["front", "side", "rear"]
PinnedTo = Literal["racked", "stepped", "level"]
FixedKind = Literal["tree", "drain", "existing_post", "other"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Leg:
    """One straight stretch: its taped length and the turn made at its start (0 on the first)."""

    length_in: float
    turn_deg: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class LineEnd:
    """How a line starts or ends, and which point the tape was held to there.

    `shared_line`/`shared_at` name the terminal of another line that serves here too: its
    "start", its "end", or "corner N" (N from 1). The post is counted with that other line.
    """

    kind: EndKind = "post"
    measured_at: MeasuredAt = "post_centre"
    shared_line: str = ""
    shared_at: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Gate:
    """A gate by its clear opening: `station_in` is the opening's near face along the line.

    A slide gate hangs on rollers at its `hinge_side`, is stored behind the fence there, and runs
    on the side it would `swing` to. `first_leaf_in` is the leaf on the near side of an unequal
    pair; None for equal leaves.
    """

    id: str
    station_in: float
    clear_opening_in: float
    leaves: int = 1
    use: GateUse = "walk"
    hinge_side: Literal["start", "end", "both"] = "start"
    swing: Side = "left"
    latch: str = "standard"
    kind: GateKind = "swing"
    first_leaf_in: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class GroundShot:
    """The ground's height at a station, against any one datum, up positive."""

    station_in: float
    elevation_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class NoDigStrip:
    """A utility mark that crosses the line: its centre station, facility width and angle."""

    station_in: float
    facility_width_in: float
    crossing_deg: float = 90.0
    utility: str = ""
    hand_dig: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class BayPin:
    """What the office decided for the bay over a station: racked, stepped or level.

    Stepped stands level at the height of its higher post, level at any height inside the limits.
    """

    station_in: float
    follows: PinnedTo


@dataclass(frozen=True, kw_only=True, slots=True)
class FixedPoint:
    """What stands in the line already, by its middle: no hole comes nearer than `keep_clear_in`.

    With `use` a post that stands there carries the fence and no new one is set; `width_in` is
    its own then, 0 for one as wide as the system's line posts.
    """

    station_in: float
    kind: FixedKind = "tree"
    width_in: float = 0.0
    keep_clear_in: float = 0.0
    use: bool = False
    note: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class FenceLine:
    """One run of fence of one system and scope, from its start to its end."""

    id: str
    name: str
    system: str
    legs: tuple[Leg, ...]
    scope: Scope = "whole_fence"
    yard: Yard = "rear"
    finished_face: Side = "left"
    taped: Taped = "level"
    division: Spread = ""  # how its sections are divided into bays; "": as its system says
    start: LineEnd = field(default_factory=LineEnd)
    end: LineEnd = field(default_factory=LineEnd)
    closed: bool = False
    start_x_in: float = 0.0
    start_y_in: float = 0.0
    bearing_deg: float = 90.0
    ground: tuple[GroundShot, ...] = ()
    gates: tuple[Gate, ...] = ()
    no_dig: tuple[NoDigStrip, ...] = ()
    bay_pins: tuple[BayPin, ...] = ()
    rail_stiffener: bool = True  # bottom rails get the stiffener that the system lists
    fixed_points: tuple[FixedPoint, ...] = ()
    old_footings: int = 0  # of a fence that is taken out: those that are dug out too


@dataclass(frozen=True, kw_only=True, slots=True)
class Conditions:
    """What the place and the local rules impose on every hole and every fence height."""

    frost_depth_in: float = 0.0
    local_hole_depth_in: float = 0.0
    soil_class: str = "normal"
    dig_method: str = "two_man_auger"
    hand_dig_tolerance_in: float = 24.0
    height_limit_front_in: float | None = None
    height_limit_side_in: float | None = None
    height_limit_rear_in: float | None = None
    setback_in: float = 0.0
    permit_fee: str = "0"
    spoil: Literal["spread", "haul"] = "spread"
    long_barrow: bool = False
    access_width_in: float | None = None  # of the narrowest place on the way in; None: open
    rock_holes: int = 0  # of all holes, those expected in solid rock
    wet_holes: int = 0  # that rain will fill, to be dug again
    frozen_ground: bool = False
    drive_min: float = 0.0  # there and back, for one trip
    pool_barrier: bool = False
    pool_height_in: float | None = None  # the town's; None: the firm's usual rule set
    pool_gap_in: float | None = None
    pool_latch_in: float | None = None  # height of the release over the ground
    pool_latch_on_pool_side: bool = False
    sight_leg_in: float | None = None  # the town's sight triangle along each street
    sight_low_in: float = 36.0  # from here up to sight_high_in nothing may stand; 0: no end
    sight_high_in: float = 0.0
    sight_corner_x_in: float | None = None  # where the streets' lines meet; None: no corner lot
    sight_corner_y_in: float | None = None
    sight_first_bearing_deg: float = 90.0
    sight_second_bearing_deg: float = 0.0
    wind_speed_mph: float | None = None  # the local code's design speed, strength level
    exposure: Exposure = "B"
    trips: int = 0  # 0: as many as the work needs (set, then hang: 2; posts only: 1)

    def height_limit_in(self, yard: Yard) -> float | None:
        """Return how high a fence may be in a yard, None where nothing was given."""
        return {
            "front": self.height_limit_front_in,
            "side": self.height_limit_side_in,
            "rear": self.height_limit_rear_in,
        }[yard]


@dataclass(frozen=True, kw_only=True, slots=True)
class LeftOut:
    """A line of the document that can't be worked with: how it is called, and why."""

    line_id: str
    field: str
    reason: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Site:
    """A measured site: the document's contents once read and checked."""

    name: str
    lines: tuple[FenceLine, ...]
    conditions: Conditions = field(default_factory=Conditions)
    notes: str = ""
    left_out: tuple[LeftOut, ...] = ()
