"""An estimate in other scopes, worked out on the page and never stored: for the office."""

from dataclasses import dataclass
from typing import Any

from estimating import mapping
from estimating.engine.scopes import ScopeKey, ScopePrice, compare_scopes
from estimating.models import Estimate
from estimating.selectors.measurements import ReadDocument, read_with
from firm.selectors.profile import firm_profile

SCOPE_WORDS: dict[ScopeKey, str] = {
    "estimated": "As estimated",
    "whole_fence": "Whole fence",
    "posts_only": "Posts only",
    "materials_only": "Materials only, delivered",
    "removal_only": "Removal only",
}
SCOPE_HELP: dict[ScopeKey, str] = {
    "estimated": "all lines in the scopes they are measured in",
    "whole_fence": "posts set, everything hung",
    "posts_only": "posts set in concrete, nothing hung",
    "materials_only": "a sale of goods: no work of ours",
    "removal_only": "the old fence taken out, nothing built",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class ScopeRow:
    """One scope with its words and what the page warns of."""

    scope: ScopePrice
    words: str
    help: str
    stops: tuple[str, ...]
    is_at_minimum: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class ScopeView:
    """What the page of scopes shows."""

    rows: list[ScopeRow]
    whole: ScopePrice | None
    posts_only: ScopePrice | None
    materials_only: ScopePrice | None
    has_removal: bool
    has_figures_by_hand: bool

    @property
    def kept_hours_pct(self) -> float:
        """The part of the whole fence's hours that a price for posts only still holds."""
        if self.whole is None or self.posts_only is None or not self.whole.hours:
            return 0.0
        return 100 * self.posts_only.hours / self.whole.hours


def scope_view(estimate: Estimate) -> ScopeView:
    """Return the estimate's scopes side by side, at its own prices.

    Raises:
        EngineError: the document can't be worked with any more.
    """
    read = read_for_what_if(estimate)
    overrides = mapping.overrides(estimate.overrides.all())
    scopes = compare_scopes(
        read.site,
        read.catalog,
        typed=mapping.typed_lines(estimate.typed_lines.all()),
        overrides=overrides,
    )
    by_key = {each.key: each for each in scopes}
    return ScopeView(
        rows=[_row(each) for each in scopes],
        whole=by_key.get("whole_fence"),
        posts_only=by_key.get("posts_only"),
        materials_only=by_key.get("materials_only"),
        has_removal="removal_only" in by_key,
        has_figures_by_hand=bool(overrides),
    )


def read_for_what_if(estimate: Estimate) -> ReadDocument:
    """Read the estimate's own document and prices.

    An estimate priced before the firm had a rule for goods takes the rule of today.
    """
    catalog = estimate.catalog
    rules = {"goods": mapping.goods_data(firm_profile()), **catalog.get("rules", {})}
    data: dict[str, Any] = {**catalog, "rules": rules}
    return read_with(estimate.document, data, may_lack_layout=True)


def _row(scope: ScopePrice) -> ScopeRow:
    return ScopeRow(
        scope=scope,
        words=SCOPE_WORDS[scope.key],
        help=SCOPE_HELP[scope.key],
        stops=tuple(
            dict.fromkeys(each.message for each in scope.findings if each.severity == "stop")
        ),
        is_at_minimum=any(each.code == "minimum-charge-applied" for each in scope.findings),
    )
