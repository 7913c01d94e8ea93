"""Saver hints: small changes to a measured site that save posts, bays, hours or money.

Each is the difference of two whole estimates, of the site as it is and of the site with that one
change, to the cent.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimating.engine.catalog import Catalog, Override, TypedLine
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate
from estimating.engine.reading import read_site
from estimating.engine.result import EstimateResult
from estimating.engine.saver_candidates import Candidate, candidates
from estimating.engine.saver_changes import Change, UseOffcuts, change_document
from estimating.engine.saver_offcuts import offcut_uses
from estimating.engine.site import Site

# Each is a whole estimate, of which 100 posts take some 25 ms.
MOST_TRIED = 7
LEVEL_IN = 1 / 32  # nearer than half a sixteenth two bays stand at one height


@dataclass(frozen=True, kw_only=True, slots=True)
class SaverHint:
    """One change, and what the site then needs less of.

    `cost` is direct cost and `price` the price before tax, both at the estimate's own prices,
    with its typed lines and its figures set by hand. `hours` are labour hours; `offcuts` how many
    bays are made from what is left of other bays' panels.
    """

    change: Change
    posts: int
    bays: int
    cut_bays: int
    steps: int
    offcuts: int
    hours: float
    cost: Decimal
    price: Decimal

    @property
    def key(self) -> str:
        """A text that names this very change, for a form."""
        return repr(self.change)


@dataclass(frozen=True, kw_only=True, slots=True)
class Savers:
    """The hints, the greatest saving first; `left_out` changes were too many to be tried."""

    hints: tuple[SaverHint, ...]
    tried: int
    left_out: int


@dataclass(frozen=True, kw_only=True, slots=True)
class _Case:
    """The site as it was measured, with its estimate."""

    document: Mapping[str, Any]
    site: Site
    catalog: Catalog
    typed: Sequence[TypedLine]
    overrides: Sequence[Override]
    result: EstimateResult


def saver_hints(
    document: Mapping[str, Any],
    catalog: Catalog,
    *,
    typed: Sequence[TypedLine] = (),
    overrides: Sequence[Override] = (),
    most_tried: int = MOST_TRIED,
) -> Savers:
    """Return what small changes to a measured site would save.

    A change that breaks another rule, or that costs more, is no hint.

    Raises:
        EngineError: the document, or a figure in it, can't be worked with.
    """
    site = read_site(document, leave_out=True)
    case = _Case(
        document=document,
        site=site,
        catalog=catalog,
        typed=typed,
        overrides=overrides,
        result=estimate(site, catalog, typed=typed, overrides=overrides),
    )
    found = [*_offcuts(case), *candidates(site, catalog, case.result)]
    best: dict[str, SaverHint] = {}
    for candidate in found[:most_tried]:
        hint = _tried(case, candidate)
        known = best.get(candidate.subject)
        if hint and (known is None or hint.cost > known.cost):
            best[candidate.subject] = hint
    return Savers(
        hints=tuple(sorted(best.values(), key=lambda hint: (-hint.cost, hint.key))),
        tried=min(len(found), most_tried),
        left_out=max(0, len(found) - most_tried),
    )


def _tried(case: _Case, candidate: Candidate) -> SaverHint | None:
    """Estimate the site with one change; return what it saves, None where it saves nothing."""
    try:
        result = _changed(case, candidate.change)
    except EngineError:
        return None
    hint = SaverHint(
        change=candidate.change,
        posts=_posts(case.result) - _posts(result),
        bays=_bays(case.result) - _bays(result),
        cut_bays=_cut_bays(case.result) - _cut_bays(result),
        steps=_steps(case.result) - _steps(result),
        offcuts=len(candidate.change.pairs) if isinstance(candidate.change, UseOffcuts) else 0,
        hours=case.result.total_hours - result.total_hours,
        cost=case.result.money.direct_cost - result.money.direct_cost,
        price=case.result.money.price_before_tax - result.money.price_before_tax,
    )
    costs_more = hint.cost < 0 or hint.price < 0 or hint.posts < 0
    fewer = max(hint.posts, hint.bays, hint.cut_bays, hint.steps, hint.offcuts) > 0
    # A step less is worth having where it costs the same.
    is_saver = fewer and not costs_more and (hint.cost > 0 or hint.steps > 0)
    return hint if is_saver and not _broken(case.result, result) else None


def _offcuts(case: _Case) -> list[Candidate]:
    return [
        Candidate(change=change, subject=f"offcuts {change.item}", by_in=0.0, bays=0)
        for change in offcut_uses(case.result, case.catalog, case.overrides)
    ]


def _changed(case: _Case, change: Change) -> EstimateResult:
    """Estimate the site with one change, or with one more figure set by hand."""
    site, overrides = case.site, case.overrides
    if isinstance(change, UseOffcuts):
        overrides = (*overrides, change.override)
    else:
        site = read_site(change_document(case.document, site, change), leave_out=True)
    return estimate(site, case.catalog, typed=case.typed, overrides=overrides)


def _broken(before: EstimateResult, after: EstimateResult) -> bool:
    """Say whether a rule is broken, or come near, that was kept before; or broken by more."""
    warnings = _warnings(after)
    if warnings - _warnings(before):
        return True
    said = {code for _, code in warnings}
    # By how much a gap or a hump breaks its limit is what the customer sees.
    wider = "gap-under-fence" in said and _widest_gap_in(after) > _widest_gap_in(before)
    return wider or ("ground-in-the-way" in said and _hump_in(after) > _hump_in(before))


def _widest_gap_in(result: EstimateResult) -> float:
    return max((bay.largest_gap_in for line in result.lines for bay in line.bays), default=0.0)


def _hump_in(result: EstimateResult) -> float:
    return max((-bay.least_gap_in for line in result.lines for bay in line.bays), default=0.0)


def _warnings(result: EstimateResult) -> Counter[tuple[str, str]]:
    return Counter(
        (each.severity, each.code) for each in result.findings if each.severity != "note"
    )


def _posts(result: EstimateResult) -> int:
    return sum(len(line.posts) for line in result.lines)


def _bays(result: EstimateResult) -> int:
    return sum(len(line.bays) for line in result.lines)


def _cut_bays(result: EstimateResult) -> int:
    return sum(bay.is_cut for line in result.lines for bay in line.bays)


def _steps(result: EstimateResult) -> int:
    """Count the posts at which two bays of a line stand at different heights."""
    return sum(
        before.to_post == after.from_post
        and abs(after.base_start_in - before.base_end_in) > LEVEL_IN
        for line in result.lines
        for before, after in zip(line.bays, (*line.bays[1:], *line.bays[:1]), strict=True)
    )
