"""What is built with: fence systems, price book, production rates, firm's rules and adjustments.

All of it is data. `estimating.engine.reading` makes these objects from TOML, a database or a file.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from estimating.engine.pool import Barrier, PoolRules
from estimating.engine.post_strength import PostStrength
from estimating.engine.wind import Screen

Role = Literal["line", "end", "corner", "gate", "pull"]
Setting = Literal["wet_set", "pour_around", "dry_pack", "tamped", "driven"]
Displaces = Literal["solid", "outline", "nothing", "wall"]
ConcreteChoice = Literal["bags", "mixer", "ready_mix", "cheapest"]
Driver = Literal[
    "post",  # every new post; `roles` narrows it
    "bay",
    "cut_bay",
    "foot",  # foot of infill, gates excluded, per line
    "section",
    "section_end",  # each end of a section at a terminal, gate post or wall
    "wall_end",
    "corner",
    "terminal",
    "gate",  # `uses`/`leaves` narrow gate and leaf drivers
    "leaf",
    "leaf_ft",  # foot of leaf, all leaves of a gate together
    "third_hinge",  # each leaf that is too tall, wide or heavy for two hinges
    "height_ft",  # per section end, times the fence height in ft
    "board",  # boards across all bays: ceil((clear - allowance) / coverage) each
    "rail_stock",  # pieces of stock per section: ceil(section ft / usable ft)
    "rail_row",  # pieces of stock for one row of rails that run through posts, per section
    "run_board",  # boards along a section that lap by `overlap_in` (0: side by side)
    "square_end",  # each end of a bay that meets its post straight or square
    "swivel_end",  # each end of a bay at a corner that is neither
    "bay_picket",  # pickets between two posts at equal gaps near `gap_in`
    "job",
]


CutKind = Literal[
    "",
    "bay_rail",  # what spans a bay, into the post at each end
    "bay_board",  # the last board of each bay, by its width: never planned
    "rail_row",  # rails that run through posts
    "end_bay",  # what braces a terminal: the first and last bay of each section
    "run",  # lengths joined along each section, each covering `usable_ft` of it
    "piece",  # boards or pickets all of one length, `piece_in`
]


@dataclass(frozen=True, kw_only=True, slots=True)
class PostProduct:
    """The post used in one role. `width_in` is the side of a square or the diameter of a pipe.

    `longer` holds the same post in greater lengths, by item, for holes deeper than usual.
    """

    item: str
    width_in: float
    length_in: float
    shape: Literal["square", "round"] = "square"
    wall_in: float | None = None
    displaces: dict[str, str] = field(default_factory=dict)  # setting method -> Displaces
    least_depth_in: float = 0.0  # what this post itself asks for, such as one that braces wire
    hole_diameter_in: float | None = None  # None: the system's times-width rule
    longer: dict[str, float] = field(default_factory=dict)  # item -> length in inches
    setting: Setting | None = None  # None: set as the system says


@dataclass(frozen=True, kw_only=True, slots=True)
class HoleRule:
    """The system's own hole: `times_width` to `times_width_up_to_in`, `times_width_above` beyond.

    Depth is `base_depth_in` plus `extra_depth_per_ft_in` for each ft of height above
    `base_height_in`.
    """

    base_depth_in: float
    base_height_in: float = 0.0
    extra_depth_per_ft_in: float = 0.0
    times_width: float = 3.0
    times_width_up_to_in: float = 4.0
    times_width_above: float = 3.0
    concrete_top_in: float = -2.0  # relative to grade: -2 stops 2 in under the grass
    gravel_in: float = 0.0
    gate_extra_depth_in: float = 0.0
    bell_diameter_in: float = 0.0  # at the bottom; 0: straight sides
    bell_height_in: float = 0.0  # over which the shaft widens to the bell


@dataclass(frozen=True, kw_only=True, slots=True)
class Material:
    """One row of a system's bill of materials: `quantity` of `item` for each `driver`."""

    item: str
    driver: Driver
    quantity: float = 1.0
    less: float = (
        0.0  # taken off after multiplying, per driver occurrence (height_ft: bands = h - 1)
    )
    roles: tuple[str, ...] = ()
    leaves: tuple[int, ...] = ()
    uses: tuple[str, ...] = ()  # gate, leaf and leaf_ft drivers: only gates of these uses
    kinds: tuple[str, ...] = ("swing",)  # and only gates of these kinds
    gate_posts: tuple[str, ...] = ()  # post drivers: only these sizes; none: all but a slide gate's
    infill: bool = False  # counted by posts, yet left out of a posts-only scope (ties)
    usable_ft: float | None = None  # rail_stock, rail_row and cut runs: of one piece of stock
    extra_ft: float = 0.0  # foot driver: added once per section (tension wire ends)
    cut: CutKind = ""
    other_lengths: tuple[str, ...] = ()  # items of the same, in other lengths, to cut from as well
    kerf_in: float | None = None  # None: the firm's saw; 0 for what is clipped
    piece_in: float = 0.0  # of what is cut as pieces of one length
    width_in: float = 0.0  # run_board and bay_picket: of one piece
    overlap_in: float = 0.0  # run_board
    gap_in: float = 0.0  # bay_picket: the gap that is wanted
    reach: Literal["", "full_depth", "above_ground"] = ""  # of a stiffener in its post
    stiffens: Literal["", "bottom_rail"] = ""  # a line may go without
    section_in2: float = 0.0  # of a stiffener's metal: what it takes of the concrete around it
    hung: bool = False  # each piece is fastened by itself: counted by the rate hang_piece
    offcut_serves: bool = False  # a panel whose rest may fill a shorter bay


@dataclass(frozen=True, kw_only=True, slots=True)
class GatePost:
    """A post for leaves too wide or too heavy for the usual gate post, and how far it is enough."""

    key: str
    post: PostProduct
    up_to_leaf_in: float
    up_to_leaf_lb: float | None = None
    strength: PostStrength | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class SlideGate:
    """A leaf that slides on the rollers of two posts and needs no wheel on the drive.

    The leaf is the opening, what laps the latch post, and the tail that balances it. Closed, the
    tail still reaches `tail_grip_in` past the second roller post.
    """

    post: PostProduct
    tail_pct: float
    overlap_in: float
    tail_grip_in: float
    largest_opening_in: float
    largest_rise_in: float  # of the ground along the leaf's whole travel


@dataclass(frozen=True, kw_only=True, slots=True)
class GateHardware:
    """Gaps between opening and leaf, and what the posts beside a gate must be.

    The usual gate post is enough for a leaf up to a width and a weight, None for any; beyond, the
    first of `heavier_posts` that is enough serves. A third hinge comes over each limit given.
    """

    hinge_gap_in: float
    latch_gap_in: float
    centre_gap_in: float
    largest_leaf_in: float = 72.0
    usual_post_up_to_leaf_in: float | None = None
    usual_post_up_to_leaf_lb: float | None = None
    heavier_posts: tuple[GatePost, ...] = ()
    third_hinge_over_height_in: float | None = None
    third_hinge_over_leaf_in: float | None = None
    third_hinge_over_leaf_lb: float | None = None
    slide: SlideGate | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class WindFigures:
    """What a check of posts against wind needs of a fence system.

    `is_movement_harmless`: half an inch at the ground harms nothing, so soil counts double.
    """

    screen: Screen
    leaf_lb_ft2: float = 0.0  # weight of a gate's leaf
    is_movement_harmless: bool = False
    posts: dict[str, PostStrength] = field(default_factory=dict)  # by role, as in FenceSystem


@dataclass(frozen=True, kw_only=True, slots=True)
class FenceSystem:
    """A fence system as data."""

    key: str
    name: str
    family: Literal["panel", "fabric"]
    height_in: float
    max_on_centre_in: float
    min_clear_in: float
    spacing: Literal["level", "along_grade"]
    division: Literal["equal", "full_and_short"]
    setting: Setting
    posts: dict[str, PostProduct]  # role -> product; "end" serves any role that is missing
    hole: HoleRule
    materials: tuple[Material, ...]
    gate: GateHardware
    labor: dict[str, str]  # activity -> key in Rates.hours, see the starter data
    rail_insertion_in: float = 0.0
    channel_allowance_in: float = 0.0
    board_coverage_in: float = 0.0
    ground_gap_in: float = 2.0
    max_rack_in: float = 0.0
    rails: Literal["cut_on_site", "fixed"] = "cut_on_site"  # fixed: a panel as it is made
    largest_gap_in: float = 8.0  # under the fence, where it steps or the ground dips
    height_tolerance_in: float = 6.0  # over its height, where it steps or the ground dips
    ease_in: float = 1.5  # how far a straight string may miss the ground at a hump or dip
    corner_turn_deg: float = 5.0  # a turn over this makes a corner post
    pull_every_in: float | None = None
    rail_sags_over_in: float = 0.0  # a bottom rail without a stiffener; 0: no such limit
    wind: WindFigures | None = None  # None: its posts are not judged against wind
    barrier: Barrier | None = None  # None: its infill is not judged as a pool barrier


@dataclass(frozen=True, kw_only=True, slots=True)
class PriceItem:
    """One row of the price book: `unit_cost` buys one purchase unit of `pack` units."""

    key: str
    name: str
    kind: Literal["material", "equipment", "fee"]
    unit: str
    unit_cost: Decimal
    pack: float = 1.0
    purchase_unit: str = "each"
    waste_pct: float = 0.0
    yield_ft3: float | None = None  # concrete bags only
    checked_on: str = ""  # the day someone last saw this price, such as 2026-03-31
    stock_length_in: float | None = None  # of one piece; counted in ft: of one purchase unit


@dataclass(frozen=True, kw_only=True, slots=True)
class Rates:
    """Production rates in labour hours, by key such as `dig.normal.two_man_auger`.

    `limits` say from where on the place or the crew moves a rate: `slope.steep_pct`.
    """

    hours: dict[str, float]
    swell_pct: dict[str, float]  # by soil class
    limits: dict[str, float] = field(default_factory=dict)
    since: dict[str, str] = field(default_factory=dict)  # "hours.KEY" -> day its row holds from


@dataclass(frozen=True, kw_only=True, slots=True)
class GoodsRule:
    """How the firm sells material that it does not build: a sale of goods, not of a fence.

    `margin_pct` is of the price, before any overhead. `sales_tax_pct` is of the whole price with
    its delivery; None where nobody has said yet what the state asks for.
    """

    margin_pct: Decimal
    delivery_charge: Decimal = Decimal(0)
    sales_tax_pct: Decimal | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class ConcreteRules:
    """How concrete may come to the site, and which way the firm takes. Items are the price book's.

    A ready-mix order is rounded up to its item's pack, and is `least_load_yd3` at least; a load
    under `short_load_yd3` pays the charge for a short one.
    """

    way: ConcreteChoice = "bags"
    bag_items: tuple[str, ...] = ()  # sizes to compare beside the firm's own
    mix_rate_yield_ft3: float = 0.0  # of the bag the rate mix.bag is for; 0: the firm's own
    cement_item: str = ""
    cement_per_yd3: float = 0.0  # bags
    aggregate_item: str = ""
    aggregate_per_yd3: float = 0.0  # yd3 of sand and gravel, loose
    mixer_item: str = ""
    batch_ft3: float = 0.0
    ready_mix_item: str = ""
    short_load_item: str = ""
    short_load_yd3: float = 0.0
    least_load_yd3: float = 0.0
    truck_yd3: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Rules:
    """The firm's own rules for layout, pricing and paper."""

    crew_rate: Decimal  # burdened, per labour hour
    crew_size: int
    hours_per_day: float
    overhead_method: Literal["per_crew_day", "per_labor_hour", "percent_of_direct"]
    overhead_rate: Decimal
    target_margin_pct: Decimal  # net, of the price before tax
    commission_pct: Decimal = Decimal(0)
    sales_tax_base: Literal["none", "material", "all"] = "none"
    sales_tax_pct: Decimal = Decimal(0)
    purchase_tax_pct: Decimal = Decimal(0)
    minimum_charge: Decimal = Decimal(0)
    hole_floor_in: float = 30.0
    concrete_waste_pct: float = 10.0
    saw_kerf_in: float = 0.125
    keep_offcut_in: float = 24.0  # an offcut of this length or more is kept for another job
    bag_item: str = "concrete_80lb"
    concrete: ConcreteRules = field(default_factory=ConcreteRules)
    travel_per_trip: Decimal = Decimal(0)
    ticket_fee: Decimal = Decimal(0)
    equipment: dict[str, str] = field(default_factory=dict)  # dig method -> equipment price item
    price_rounding: Decimal = Decimal("0.01")
    soil_bearing: dict[str, str] = field(default_factory=dict)  # soil class -> the code's class
    pool: PoolRules = field(default_factory=PoolRules)
    spoil_load_yd3: float = 0.0  # what the firm's truck or trailer takes; 0: loads not counted
    permit_free_height_in: float = 0.0  # a model code asks for no permit up to here; 0: unknown
    # How far a saver hint may move a gate, and cut back or run on an end.
    gate_move_limit_in: float = 3.0
    end_move_limit_in: float = 6.0
    goods: GoodsRule | None = None  # None: the firm sells no material that it does not build


@dataclass(frozen=True, kw_only=True, slots=True)
class Catalog:
    """Everything an estimate is built and priced with.

    `unusable` are fence systems whose data can't be worked with, and why.
    """

    systems: dict[str, FenceSystem]
    prices: dict[str, PriceItem]
    rates: Rates
    rules: Rules
    unusable: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True, slots=True)
class TypedLine:
    """A line typed by the office: cost side `unit_cost`, or a fixed `price` the customer pays.

    With `price` the line's price is just that; without, its cost joins the direct cost and is
    marked up with the rest. An optional line stays out of the price until the customer ticks it.
    """

    key: str
    description: str
    quantity: Decimal = Decimal(1)
    unit: str = "each"
    unit_cost: Decimal = Decimal(0)
    price: Decimal | None = None
    is_optional: bool = False
    labor_hours: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Override:
    """A figure set by hand with its reason.

    `target` is "quantity:ITEM" (purchase units), "unit_cost:ITEM", "hours:PHASE",
    or "price", which sets the price before tax.
    """

    target: str
    value: Decimal
    reason: str
