"""Findings on sections that no plan of posts fits: what bars them, and the least that opens them.

The section keeps its ordinary division meanwhile, so that the rest of the site is worked out.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from estimating.engine.frames import Frame
from estimating.engine.geometry import PER_INCH
from estimating.engine.holds import Hold, Span
from estimating.engine.post_plan import HAIRS, is_possible
from estimating.engine.result import Finding
from estimating.engine.section_plans import SectionPlan, limits_of, stretches_of
from estimating.engine.standing_room import Obstacle
from firm.measure.lengths import format_ft_in, format_in

# Wider than twice the system's own spacing is another fence.
WIDEST_TIMES = 2


def no_plan_findings(frame: Frame) -> Iterator[Finding]:
    """Yield a finding for each section with something in its way that no plan gets round."""
    for number, plan in enumerate(frame.plans, start=1):
        standing = [span.start for span in plan.spans if span.start.width_in]
        if plan.divided == "no_plan" and (plan.obstacles or standing):
            yield _Case(frame, number, plan, standing).finding()


class _Case:
    """One section without a plan, tried again with one thing changed at a time."""

    def __init__(
        self, frame: Frame, number: int, plan: SectionPlan, standing: Sequence[Hold]
    ) -> None:
        self._frame = frame
        self._number = number
        self._plan = plan
        self._standing = standing
        self._system = frame.course.system
        self._limits = limits_of(self._system)

    def finding(self) -> Finding:
        bars = self._barring() or list(self._plan.obstacles)
        posts = self._barring_posts()
        words = [f"the {bar.what} at {format_ft_in(bar.station_in)}" for bar in bars]
        words += [f"the standing post at {format_ft_in(post.station_in)}" for post in posts]
        by_hand = self._by_hand(bars)
        listed = " and ".join(words) or "what stands in its way"
        return Finding(
            code="no-post-plan",
            severity="warn" if by_hand else "stop",
            message=(
                f"No plan of posts keeps every limit in section {self._number}: {listed} "
                f"{'bars' if len(words) < 2 else 'bar'} it. Its posts stand as if nothing did."
            ),
            place=self._place(),
            figure="; ".join(map(_span_words, bars)) or "posts fixed too near to one another",
            limit=(
                f"bays up to {format_in(self._system.max_on_centre_in)} on centre, "
                f"{format_in(self._system.min_clear_in)} clear or more"
            ),
            action=self._action(by_hand, posts),
        )

    def _place(self) -> str:
        start, end = self._plan.spans[0].start, self._plan.spans[-1].end
        return (
            f"line {self._frame.line.id}, section {self._number}, station "
            f"{format_ft_in(start.station_in)} to {format_ft_in(end.station_in)}"
        )

    def _is_possible(
        self,
        *,
        obstacles: Sequence[Obstacle] | None = None,
        spans: Sequence[Span] | None = None,
        narrower: int = 0,
        wider: int = 0,
    ) -> bool:
        """Say whether there is a plan with one thing changed; changes are in sixteenths."""
        around = self._plan.obstacles if obstacles is None else obstacles
        stretches = [
            replace(each, largest=each.largest + wider)
            for each in stretches_of(spans or self._plan.spans, self._frame.course, around)
        ]
        narrowest = self._limits.narrowest_clear - narrower * HAIRS
        return is_possible(stretches, replace(self._limits, narrowest_clear=narrowest))

    def _barring(self) -> list[Obstacle]:
        """Return the obstacles without any one of which there is a plan."""
        every = self._plan.obstacles
        return [
            bar for bar in every if self._is_possible(obstacles=[o for o in every if o is not bar])
        ]

    def _barring_posts(self) -> list[Hold]:
        return [post for post in self._standing if self._is_possible(spans=self._without(post))]

    def _without(self, post: Hold) -> list[Span]:
        """Return the section's spans with those beside a standing post made one."""
        spans: list[Span] = []
        for span in self._plan.spans:
            if span.start is post:
                spans[-1] = replace(spans[-1], end=span.end)
            else:
                spans.append(span)
        return spans

    def _action(self, by_hand: Sequence[Obstacle], posts: Sequence[Hold]) -> str:
        ways = []
        if by_hand:
            marks = " and ".join(f"the {bar.what}" for bar in by_hand)
            ways.append(f"have a post dug by hand in the tolerance zone of {marks}")
        ways += [
            f"set a new post instead of the one at {format_ft_in(post.station_in)}"
            for post in posts
        ]
        least = self._least_changes()
        ways += [words for _amount, words in sorted(least)]
        if not ways:
            return "Part the line here, or move a gate, an end or a corner."
        first, *rest = ways
        other = f" Or {', or '.join(rest)}." if rest else ""
        return f"The smallest change: {first}.{other}"

    def _by_hand(self, bars: Sequence[Obstacle]) -> list[Obstacle]:
        """Return the marks whose zone would have to be dug by hand: one if one will do."""
        closed = [bar for bar in self._plan.obstacles if bar.opened_half_in < bar.half_in]
        singles = [[bar] for bar in closed if bar in bars]
        for opened in [*singles, closed]:
            around = [_opened(bar) if bar in opened else bar for bar in self._plan.obstacles]
            if opened and self._is_possible(obstacles=around):
                return opened
        return []

    def _least_changes(self) -> Iterator[tuple[float, str]]:
        """Yield by how much bays must be wider, or one narrower, for a plan to exist."""
        largest_in = self._system.max_on_centre_in
        wider_in = _least_in(
            lambda by: self._is_possible(wider=by), largest_in * (WIDEST_TIMES - 1)
        )
        if wider_in:
            words = format_in(largest_in + wider_in)
            yield wider_in, f"allow bays {format_in(wider_in)} wider, {words} on centre"
        clear_in = self._system.min_clear_in
        short_in = _least_in(lambda by: self._is_possible(narrower=by), clear_in)
        if short_in:
            yield short_in, f"allow a short bay of {format_in(clear_in - short_in)} clear"


def _opened(bar: Obstacle) -> Obstacle:
    return replace(bar, half_in=bar.opened_half_in, by_hand_half_in=bar.half_in)


def _least_in(opens: Callable[[int], bool], most_in: float) -> float:
    """Return the least change from a sixteenth up that opens a plan, or 0."""
    low, high = 1, int(most_in * PER_INCH)
    if high < 1 or not opens(high):
        return 0.0
    while low < high:
        middle = (low + high) // 2
        if opens(middle):
            high = middle
        else:
            low = middle + 1
    return low / PER_INCH


def _span_words(bar: Obstacle) -> str:
    start_in, end_in = bar.station_in - bar.half_in, bar.station_in + bar.half_in
    return f"no post from {format_ft_in(start_in)} to {format_ft_in(end_in)}"
