"""What an estimate returns: layout, holes, quantities, hours, money and findings."""

from dataclasses import dataclass
from typing import Literal

from estimating.engine.concrete import Concrete
from estimating.engine.saw_plan import CutPlan
from estimating.engine.sums import CostLine, Money, OptionPrice, PriceLine
from estimating.engine.trace import Step

PostKind = Literal["end", "corner", "gate", "pull", "line"]
Routing = Literal["line", "end", "corner", "three_way", "blank", "none"]
Severity = Literal["stop", "warn", "note"]
# How a bay stands on its ground; "" in results of before this was worked out.
Follows = Literal["", "racked", "stepped", "level"]
FollowsBecause = Literal[
    "",
    "fabric",  # fabric follows any ground
    "no_shots",  # nothing is known of the ground, so it counts as level
    "even",  # level ground, or a straight string over humps and dips
    "within_rack",
    "over_rack",  # it rises more than a panel racks
    "panel_too_short",  # racked, the rails would have to be longer
    "uneven",  # between its posts the ground is too far from straight
    "fewer_steps",  # it could rack, and standing level saves a step
    "pinned",  # the office decided it
]
Phase = Literal["removal", "layout", "dig", "set", "hang", "gates", "clean_up"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Post:
    """One post where it stands. `station_in` is its centre along the line, `x_in`/`y_in` plan.

    `lift_in` is how much higher its top stands over its own ground than on level ground: it
    carries the taller of its bays. Below 0 where the string cuts a hump.
    """

    number: int
    line_id: str
    kind: PostKind
    routing: Routing
    product: str
    width_in: float
    length_in: float
    station_in: float
    x_in: float
    y_in: float
    elevation_in: float
    hand_dig: bool = False
    shared_with: str = ""
    lift_in: float = 0.0
    turn_deg: float = 0.0  # of the line at a corner
    size: str = ""  # of a gate post: "slide", or the key of a heavier one; empty for the usual


@dataclass(frozen=True, kw_only=True, slots=True)
class Bay:
    """One bay between two posts (or a wall): numbers of its posts, 0 for a wall face.

    `spacer_in` is the clear distance between the two neighbours' faces; `on_centre_in` is from
    centre to centre, or from the wall face to the centre. Along the grade where fabric is spaced.
    `panel_in` is a rail's length: the clear distance and what goes into the post at each end,
    along the slope where the bay racks. `base_start_in` and `base_end_in` are the heights, on the
    line's datum, that the fence stands on at its two posts as it would on level ground there;
    the gaps are under the fence, and `longer_infill_in` is what a pool barrier's infill must be
    longer by to keep its gap.
    """

    number: int
    line_id: str
    section: int
    from_post: int
    to_post: int
    start_station_in: float
    on_centre_in: float
    spacer_in: float
    panel_in: float
    is_cut: bool
    follows: Follows = ""
    because: FollowsBecause = ""
    base_start_in: float = 0.0
    base_end_in: float = 0.0
    largest_gap_in: float = 0.0
    least_gap_in: float = 0.0
    longer_infill_in: float = 0.0

    @property
    def rise_in(self) -> float:
        """How far the fence itself rises over the bay, from its start to its end."""
        return self.base_end_in - self.base_start_in


@dataclass(frozen=True, kw_only=True, slots=True)
class GateLayout:
    """A gate as it will hang.

    `leaf_in` is the widest leaf, `leaf_widths_in` all of them from the near side on. A slide
    gate's leaf is its whole length, `tail_in` of it the tail, and `roller_post` its second post
    with rollers. `first_centre_in` is the station of the near post's middle.
    """

    id: str
    line_id: str
    from_post: int
    to_post: int
    station_in: float
    clear_opening_in: float
    on_centre_in: float
    leaf_in: float
    leaves: int
    use: str
    hinge_side: str
    swing: str
    latch: str
    kind: str = "swing"
    leaf_widths_in: tuple[float, ...] = ()
    leaf_lb: float = 0.0
    hinges: int = 2
    tail_in: float = 0.0
    roller_post: int = 0
    first_centre_in: float | None = None
    is_post_enough: bool = True
    trace: tuple[Step, ...] = ()

    @property
    def widths_in(self) -> tuple[float, ...]:
        """Return the width of each leaf, from the near side on."""
        return self.leaf_widths_in or (self.leaf_in,) * self.leaves

    @property
    def all_leaves_in(self) -> float:
        return sum(self.widths_in)

    @property
    def near_centre_in(self) -> float:
        """Return the station of the near post's middle."""
        if self.first_centre_in is None:
            return self.station_in - (self.on_centre_in - self.clear_opening_in) / 2
        return self.first_centre_in

    @property
    def stored_between_in(self) -> tuple[float, float]:
        """Return the stations that a slide gate's leaf covers when it stands open."""
        if self.hinge_side == "end":
            end_in = self.station_in + self.clear_opening_in
            return end_in, end_in + self.leaf_in
        return self.station_in - self.leaf_in, self.station_in


@dataclass(frozen=True, kw_only=True, slots=True)
class MovedOff:
    """What the posts of a section's ordinary bays would have stood in, and where it is."""

    what: str
    station_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Section:
    """A stretch between two terminals, divided into bays.

    `divided` says how: its ordinary division, the best plan round `moved_off`, or no plan.
    """

    number: int
    line_id: str
    start_station_in: float
    length_in: float
    bays: int
    max_on_centre_in: float
    from_kind: str
    to_kind: str
    divided: str = ""
    moved_off: tuple[MovedOff, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class LineLayout:
    """One line laid out. `fence_ft` is infill, gates excluded; `plan_points` the corners.

    `ground` is the profile of the ground as (station, height); none where no shots were taken.
    """

    line_id: str
    name: str
    system: str
    scope: str
    finished_face: str
    length_in: float
    fence_ft: float
    plan_points: tuple[tuple[float, float], ...]
    sections: tuple[Section, ...]
    posts: tuple[Post, ...]
    bays: tuple[Bay, ...]
    gates: tuple[GateLayout, ...]
    old_footings: int = 0
    ground: tuple[tuple[float, float], ...] = ()
    rail_stiffener: bool = True


@dataclass(frozen=True, kw_only=True, slots=True)
class Hole:
    """One post's hole and concrete. `concrete_ft3` is net of what the post displaces."""

    post_number: int
    diameter_in: float
    depth_in: float
    depth_rule: str
    concrete_length_in: float
    displaced_ft3: float
    concrete_ft3: float
    spoil_ft3: float
    bell_diameter_in: float = 0.0
    bell_height_in: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Need:
    """What one line, or one gate of it, needs of an item, before waste and packs.

    `pieces` is the amount with parts of a piece made whole, where a part can't serve elsewhere; it
    is 0 where a plan of the cuts says what is bought.
    """

    item: str
    driver: str
    line_id: str
    gate_id: str = ""
    amount: float
    pieces: float | None = None
    rule: str
    posts: tuple[int, ...] = ()
    bays: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Quantity:
    """One item's take-off: need, waste, and what is bought in whole purchase units."""

    item: str
    name: str
    driver: str
    net: float
    unit: str
    waste_pct: float
    purchase_units: int
    purchase_unit: str
    line_ids: tuple[str, ...]
    trace: tuple[Step, ...]
    needs: tuple[Need, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Cut:
    """Pieces of one length cut from an item: a row of the cut list."""

    item: str
    length_in: float
    pieces: int
    place: str


@dataclass(frozen=True, kw_only=True, slots=True)
class RateFactor:
    """What the place or the crew does to a rate: times `value`, by the firm's row of that name.

    `row` is its kind and key, such as `hours.slope.steep_factor`; `valid_from` its first day.
    """

    row: str
    value: float
    valid_from: str
    reason: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Work:
    """`count` units of one kind of work at `hours_each` labour hours, times its factors.

    `rate` is the key of the firm's production rate and `valid_from` the day its row holds from,
    empty where a file or the starter set brought it. Without a `line_id` it is the whole job's.
    """

    phase: Phase
    rate: str
    valid_from: str
    hours_each: float
    count: float
    unit: str
    labor_hours: float
    factors: tuple[RateFactor, ...] = ()
    line_id: str = ""
    gate_id: str = ""
    posts: tuple[int, ...] = ()
    bays: tuple[int, ...] = ()
    note: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Hours:
    """Labour hours (people x hours on site) of one phase, with where they come from."""

    phase: Phase
    labor_hours: float
    trace: tuple[Step, ...]
    works: tuple[Work, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """A rule that the site or the layout breaks or comes near.

    `code` is stable and kebab-case; `place` is where (line A, post 7, station 24-3); `figure` and
    `limit` carry their units; `action` says what to do about it.
    """

    code: str
    severity: Severity
    message: str
    place: str = ""
    figure: str = ""
    limit: str = ""
    action: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class EstimateResult:
    """Everything one estimate says, frozen."""

    lines: tuple[LineLayout, ...]
    holes: tuple[Hole, ...]
    concrete: Concrete
    quantities: tuple[Quantity, ...]
    cuts: tuple[Cut, ...]
    hours: tuple[Hours, ...]
    total_hours: float
    equipment_days: float
    trips: int
    cost_lines: tuple[CostLine, ...]
    price_lines: tuple[PriceLine, ...]
    options: tuple[OptionPrice, ...]
    money: Money
    findings: tuple[Finding, ...]
    cut_plans: tuple[CutPlan, ...] = ()  # none in what was kept before there were any
