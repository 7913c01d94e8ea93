"""What a day sheet says of a layout: numbers in rows, spacers, cuts, what goes on the truck."""

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from estimating.selectors.build_sheets import BuildSheet, SheetBay, SheetGate, SheetLine
from firm.measure.said import Said
from firm.measure.units import CUBIC_FT_PER_CUBIC_YD, CUBIC_IN_PER_CUBIC_FT

# Lengths that agree to four places of an inch are one length: the rest is float error.
SAME_PLACES = 4
CUBIC_IN_PER_CUBIC_YD = CUBIC_IN_PER_CUBIC_FT * CUBIC_FT_PER_CUBIC_YD
# A spacer that is off by more than this along the slope is worth a second figure.
SLOPE_OFF_IN = 1 / 4
# A post a sixteenth too long or short is within what tapping it down takes up.
TOO_LITTLE_IN = 1 / 16


@dataclass(frozen=True, kw_only=True, slots=True)
class LengthGroup:
    """One length and the numbers of what has it: posts too short or too long by as much."""

    length_in: float
    numbers: str
    count: int


@dataclass(frozen=True, kw_only=True, slots=True)
class SpacerRun:
    """Bays one after the other with one spacer: their numbers and the posts at their ends."""

    first: int
    last: int
    from_post: int
    to_post: int
    spacer_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class SlopeSpacer:
    """Bays whose spacer, laid along the ground, is longer than held level."""

    bays: str
    count: int
    level_in: float
    along_in: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LineContent:
    """One line with its lists. `bags` adds up the posts' own shares."""

    line: SheetLine
    spacers: tuple[SpacerRun, ...]
    too_short: tuple[LengthGroup, ...]
    spare: tuple[LengthGroup, ...]
    over_rack: str
    under_ground: str
    bags: float
    gates: tuple["GateCard", ...]
    stepped: str = ""
    stepped_count: int = 0
    string_ties: str = ""
    slope_spacers: tuple[SlopeSpacer, ...] = ()
    longer_infill: tuple[LengthGroup, ...] = ()

    @property
    def has_steps(self) -> bool:
        """Say whether the fence steps at any post."""
        return any(post.step_in for post in self.line.posts)

    @property
    def shows_tops(self) -> bool:
        """Say whether post tops stand at different heights."""
        return any(abs(post.top_below_first_in) > TOO_LITTLE_IN for post in self.line.posts)

    @property
    def has_rise(self) -> bool:
        """Say whether the fence rises or falls over any bay."""
        return any(abs(bay.rise_in) > TOO_LITTLE_IN for bay in self.line.bays)

    @property
    def concrete_under_in(self) -> float:
        """How far under the ground the concrete stops."""
        return max(0.0, -self.line.concrete_top_in)

    @property
    def fall_in(self) -> float:
        """How far the ground falls from the line's first post to its last."""
        return -self.line.rise_in


@dataclass(frozen=True, kw_only=True, slots=True)
class GateCard:
    """One gate with the posts that carry its hinges and its latch."""

    gate: SheetGate
    hinge_posts: str
    latch_post: str


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadRow:
    """One thing to load and how many."""

    name: str
    count: int


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetContent:
    """What the sheet says beside the lists of posts and bays."""

    lines: tuple[LineContent, ...]
    removals: tuple[SheetLine, ...]
    hand_dig: str
    hand_count: int
    post_count: int
    posts: tuple[LoadRow, ...]
    stiffeners: int
    braced: int
    sticks: int
    gravel_yd3: float
    augers_in: tuple[float, ...]
    has_pool_gate: bool
    is_fabric: bool

    @property
    def cuts_posts(self) -> bool:
        """Say whether any post is longer than string and hole need."""
        return any(one.spare for one in self.lines)


@lru_cache(maxsize=32)
def sheet_content(sheet: BuildSheet) -> SheetContent:
    """Return what a day sheet says of a layout."""
    built = [line for line in sheet.lines if line.scope != "removal"]
    posts = [post for line in built for post in line.posts]
    drilled = [post for post in posts if not post.hand_dig]
    lines = tuple(_line(line) for line in built)
    return SheetContent(
        lines=lines,
        removals=tuple(line for line in sheet.lines if line.scope == "removal"),
        hand_dig=number_rows(post.number for post in posts if post.hand_dig),
        hand_count=sum(post.hand_dig for post in posts),
        post_count=len(posts),
        posts=tuple(
            LoadRow(name=name, count=count)
            for name, count in sorted(Counter(post.product for post in posts).items())
        ),
        stiffeners=sum(bool(post.stiffener) for post in posts),
        braced=sum(bool(post.brace) for post in posts),
        sticks=2 * len({_same(bay.spacer_in) for line in built for bay in line.bays}),
        gravel_yd3=sum(_gravel_yd3(line) for line in built),
        augers_in=tuple(sorted({post.hole_diameter_in for post in drilled} - {0.0})),
        has_pool_gate=any(gate.use == "pool" for line in built for gate in line.gates),
        is_fabric=any(line.family == "fabric" for line in built),
    )


def number_rows(numbers: Iterable[int]) -> str:
    """Return numbers as people write them in a row: '1-3, 7'."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)


def _line(line: SheetLine) -> LineContent:
    return LineContent(
        line=line,
        spacers=tuple(_spacer_runs(line.bays)),
        too_short=_grouped(
            (post.short_in, post.number) for post in line.posts if post.short_in > TOO_LITTLE_IN
        ),
        spare=_grouped(
            (post.spare_in, post.number) for post in line.posts if post.spare_in > TOO_LITTLE_IN
        ),
        over_rack=number_rows(bay.number for bay in line.bays if _over_rack(bay, line)),
        under_ground=number_rows(
            post.number for post in line.posts if post.string_over_ground_in <= 0
        ),
        bags=math.fsum(post.bags for post in line.posts),
        gates=tuple(_card(gate) for gate in line.gates),
        stepped=number_rows(bay.number for bay in line.bays if bay.follows == "stepped"),
        stepped_count=sum(bay.follows == "stepped" for bay in line.bays),
        string_ties=number_rows(line.ties),
        slope_spacers=_slope_spacers(line.bays),
        longer_infill=_grouped(
            (bay.longer_infill_in, bay.number)
            for bay in line.bays
            if bay.longer_infill_in > TOO_LITTLE_IN
        ),
    )


def _slope_spacers(bays: Iterable[SheetBay]) -> tuple[SlopeSpacer, ...]:
    groups: dict[tuple[float, float], list[int]] = defaultdict(list)
    for bay in bays:
        if bay.along_slope_in - bay.spacer_in > SLOPE_OFF_IN:
            groups[(_same(bay.spacer_in), _same(bay.along_slope_in))].append(bay.number)
    return tuple(
        SlopeSpacer(
            bays=number_rows(numbers), count=len(numbers), level_in=level_in, along_in=along_in
        )
        for (level_in, along_in), numbers in groups.items()
    )


def _spacer_runs(bays: Iterable[SheetBay]) -> Iterator[SpacerRun]:
    """Yield the bays in their order, those together that follow one another with one spacer."""
    run: SpacerRun | None = None
    for bay in bays:
        is_next = run is not None and bay.from_post == run.to_post
        if run and is_next and _same(run.spacer_in) == _same(bay.spacer_in):
            run = replace(run, last=bay.number, to_post=bay.to_post)
            continue
        if run:
            yield run
        run = SpacerRun(
            first=bay.number,
            last=bay.number,
            from_post=bay.from_post,
            to_post=bay.to_post,
            spacer_in=bay.spacer_in,
        )
    if run:
        yield run


def _over_rack(bay: SheetBay, line: SheetLine) -> bool:
    return line.family == "panel" and 0 < line.max_rack_in < abs(bay.rise_in) - TOO_LITTLE_IN


def _card(gate: SheetGate) -> GateCard:
    first, last = _post_words(gate.from_post), _post_words(gate.to_post)
    if gate.leaves > 1 or gate.hinge_side == "both":
        return GateCard(gate=gate, hinge_posts=_both(first, last), latch_post=Said("in the middle"))
    hinge, latch = (first, last) if gate.hinge_side == "start" else (last, first)
    if gate.roller_post:
        hinge = _both(hinge, _post_words(gate.roller_post))
    return GateCard(gate=gate, hinge_posts=hinge, latch_post=latch)


def _post_words(number: int) -> str:
    return Said("post {number}", number=number) if number else Said("the wall")


def _both(first: str, second: str) -> str:
    return Said("{first} and {second}", first=first, second=second)


def _grouped(pairs: Iterable[tuple[float, int]]) -> tuple[LengthGroup, ...]:
    """Return lengths, as a tape reads them, with the numbers that have them, as first met."""
    groups: dict[float, list[int]] = defaultdict(list)
    for length_in, number in pairs:
        groups[round(length_in / TOO_LITTLE_IN) * TOO_LITTLE_IN].append(number)
    return tuple(
        LengthGroup(length_in=length_in, numbers=number_rows(numbers), count=len(numbers))
        for length_in, numbers in groups.items()
    )


def _same(length_in: float) -> float:
    return round(length_in, SAME_PLACES)


def _gravel_yd3(line: SheetLine) -> float:
    bottoms_in2 = sum(math.pi / 4 * post.hole_diameter_in**2 for post in line.posts)
    return bottoms_in2 * line.gravel_in / CUBIC_IN_PER_CUBIC_YD
