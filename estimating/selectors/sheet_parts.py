"""What a build sheet is made of: lines with their posts, bays and gates, items, cuts and marks."""

import datetime as dt
from dataclasses import dataclass

from estimating.engine.heights import infill_in

# Beside a mark, where the site says nothing else; most one-call laws say 18 to 24 in (common
# practice, no source).
TOLERANCE_IN = 24.0
# What a crew should know of a layout; nothing of money.
CREW_CODES = frozenset(
    {
        "bay-over-maximum",
        "posts-overlap",
        "short-bay",
        "bay-wider-than-panel",
        "post-in-mark",
        "post-in-tolerance-zone",
        "post-too-short",
        "hole-too-narrow",
        "leg-shorter-than-post",
        "line-crosses-itself",
        "gate-moved-to-post",
    }
)


@dataclass(frozen=True, kw_only=True, slots=True)
class StringSetting:
    """The string the posts are set to.

    `side` is "left" or "right" as seen from the line's start, `offset_in` its distance from the
    posts' faces, `height_in` its height over the ground at both ends of a straight stretch.
    """

    side: str
    offset_in: float
    height_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetPost:
    """One post: what stands there, its hole, and where its ends lie from the string.

    `station_in` runs from its line's start. `needed_length_in` over `length_in` means the post
    is too short where it stands. `bags` is the share of the job's bags, to the half bag.
    `shared_with` names the other lines that stand on this post. `top_below_first_in` is how far
    its top lies under the top of the line's first post. Where the fence steps, `step_in` is how
    far the bay after the post stands over the bay before it (below 0: a drop), `step_bays` are
    the two, and `bottoms_in` is how high each ends over the post's ground.
    """

    number: int
    line_id: str
    kind: str
    routing: str
    product: str
    width_in: float
    is_round: bool
    length_in: float
    needed_length_in: float
    hole_diameter_in: float
    hole_depth_in: float
    hand_dig: bool
    station_in: float
    top_above_string_in: float
    string_to_bottom_in: float
    bags: float
    stiffener: str
    brace: str
    string_over_ground_in: float = 0.0
    shared_with: str = ""
    top_below_first_in: float = 0.0
    step_in: float = 0.0
    step_bays: tuple[int, int] = (0, 0)
    bottoms_in: tuple[float, float] = (0.0, 0.0)

    @property
    def short_in(self) -> float:
        """How much the post lacks to reach from the bottom of its hole to its height."""
        return max(0.0, self.needed_length_in - self.length_in)

    @property
    def spare_in(self) -> float:
        """How much the post is longer than its hole and height ask for."""
        return max(0.0, self.length_in - self.needed_length_in)


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetBay:
    """One bay: from post to post (0 for a wall), the spacer between their faces, its rail.

    `rise_in` is how much the fence rises over the bay, from its first post to its last, and
    `along_slope_in` the spacer where it is laid along the ground instead of held level.
    """

    number: int
    line_id: str
    from_post: int
    to_post: int
    on_centre_in: float
    spacer_in: float
    panel_in: float
    is_cut: bool
    rise_in: float = 0.0
    follows: str = ""
    longer_infill_in: float = 0.0
    along_slope_in: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetGate:
    """One gate as it is to hang; gaps are those of its hardware."""

    id: str
    line_id: str
    from_post: int
    to_post: int
    clear_opening_in: float
    leaf_in: float
    leaves: int
    hinge_gap_in: float
    latch_gap_in: float
    centre_gap_in: float
    use: str
    hinge_side: str
    swing: str
    latch: str
    kind: str = "swing"
    widths_in: tuple[float, ...] = ()
    hinges: int = 2
    tail_in: float = 0.0
    roller_post: int = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetLine:
    """One line of fence; `rise_in` is how far its end lies over its start.

    `setting` is how the posts meet their concrete ("wet_set", "pour_around", "dry_pack"),
    `concrete_top_in` where it stops against the ground (-3: 3 in under the grass). Over
    `max_rack_in` of rise a bay is stepped; 0 where that is no question. `ties` are posts between
    its ends at which the string is tied again, and `has_level_string` says that along bays which
    stand level it is pulled level.
    """

    line_id: str
    name: str
    system_name: str
    family: str
    scope: str
    height_in: float
    length_in: float
    rise_in: float
    finished_face: str
    old_footings: int
    posts: tuple[SheetPost, ...]
    bays: tuple[SheetBay, ...]
    gates: tuple[SheetGate, ...]
    setting: str = ""
    concrete_top_in: float = 0.0
    gravel_in: float = 0.0
    ground_gap_in: float = 0.0
    max_rack_in: float = 0.0
    ties: tuple[int, ...] = ()
    has_level_string: bool = False

    @property
    def infill_in(self) -> float:
        """Return what is left for panel or boards over the gap under the fence."""
        return infill_in(self.height_in, self.ground_gap_in)


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetCut:
    """Pieces of one length to be cut."""

    item_name: str
    length_in: float
    pieces: int
    place: str


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetBar:
    """Stock lengths of one item that are cut alike; `pieces` are (length, how many of it)."""

    item_name: str
    stock_length_in: float
    bars: int
    pieces: tuple[tuple[float, int], ...]
    offcut_in: float
    is_kept: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetMark:
    """A utility mark across a line."""

    line_id: str
    station_in: float
    utility: str
    width_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class BuildSheet:
    """Everything a crew builds a site from; void once a newer version was made.

    `has_concrete` is False only where none was counted: a layout that says nothing has some.
    `tolerance_in` is how far from a mark only hands dig.
    """

    proposal_id: int
    version: int
    newest_version: int
    made_at: dt.datetime | None
    note: str
    lines: tuple[SheetLine, ...]
    bags: int
    bag_name: str
    concrete_ft3: float
    cuts: tuple[SheetCut, ...]
    marks: tuple[SheetMark, ...]
    plan_svg: str
    saw_list: tuple[SheetBar, ...] = ()
    more_pct: float = 0.0  # what the bags hold over the holes: over-dig and waste
    concrete_comes: str = ""  # what brings it where it doesn't come in bags
    has_concrete: bool = True
    stops: tuple[str, ...] = ()  # why it can't be built as it stands, in words
    tolerance_in: float = TOLERANCE_IN

    @property
    def is_void(self) -> bool:
        """Say whether a newer version replaces this one."""
        return self.version < self.newest_version
