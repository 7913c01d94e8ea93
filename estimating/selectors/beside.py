"""What may stand beside a proposal's price: other scopes and alternates, in the customer's words.

Prices only, with tax: no cost, no margin, no hours.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.engine.errors import EngineError
from estimating.engine.scopes import ScopeKey, SelfBuilt
from estimating.models import Estimate
from estimating.selectors.alternates import alternate_rows
from estimating.selectors.what_if import ScopeRow, ScopeView, scope_view
from firm.measure.money import format_money

OFFERED: dict[ScopeKey, tuple[str, str]] = {
    "whole_fence": ("The new fence alone", "All posts set and everything hung, nothing else."),
    "posts_only": (
        "Posts only",
        "We lay out, dig and set the posts; you hang the rest.",
    ),
    "materials_only": ("Materials only", "All material for the fence, delivered; you build it."),
    "removal_only": ("Removal only", "We take the old fence out and build nothing."),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Beside:
    """One other way, with its price and how much that is above the proposal's."""

    key: str
    name: str
    about: tuple[str, ...]
    price: Decimal
    change: Decimal


def beside(estimate: Estimate) -> list[Beside]:
    """Return what may be shown: whatever can be built as measured, nothing of what can't."""
    try:
        return [*_scopes(estimate), *_alternates(estimate)]
    except EngineError:
        return []


def chosen_beside(estimate: Estimate, keys: Sequence[str]) -> list[Beside]:
    """Return those of the keys that may be shown."""
    return [each for each in beside(estimate) if each.key in set(keys)] if keys else []


def _scopes(estimate: Estimate) -> Iterator[Beside]:
    view = scope_view(estimate)
    is_whole = all(row.scope.key != "estimated" for row in view.rows)
    for row in view.rows:
        scope = row.scope
        is_the_offer = scope.key == "estimated" or (scope.key == "whole_fence" and is_whole)
        if is_the_offer or row.stops or scope.price <= 0:
            continue
        name, words = OFFERED[scope.key]
        about = (words, *_why(estimate, view, row))
        change = scope.price - estimate.price
        yield Beside(
            key=f"scope:{scope.key}", name=name, about=about, price=scope.price, change=change
        )


def _why(estimate: Estimate, view: ScopeView, row: ScopeRow) -> Iterator[str]:
    """Yield what a scope leaves out, why its price is what it is, and what tax is in it."""
    scope = row.scope
    if scope.key == "posts_only" and scope.self_built is not None:
        yield f"That is {view.kept_hours_pct:.0f} % of the labour of the whole fence."
        yield from _saving(scope.self_built)
    if scope.key == "removal_only":
        yield from _alone(estimate, row)
    elif view.has_removal:
        yield "The old fence stays: taking it out is not in this price."
    if scope.sales_tax:
        yield f"{format_money(scope.sales_tax)} sales tax is in it."


def _alone(estimate: Estimate, row: ScopeRow) -> Iterator[str]:
    """Yield why the removal costs more alone than as a part of the work."""
    lines = estimate.result.get("lines", ())
    keys = {f"line:{line['line_id']}" for line in lines if line["scope"] == "removal"}
    parts = [part for part in estimate.result.get("price_lines", ()) if part["key"] in keys]
    together = sum((Decimal(str(part["amount"])) for part in parts), Decimal(0))
    if not parts or row.scope.price_before_tax <= together:
        return
    bears = "the trip, the set-up and the day"
    if row.is_at_minimum:
        bears = "our smallest charge for a job"
    yield (
        f"As a part of this proposal it is {format_money(together)} before tax; "
        f"done alone it bears {bears} by itself."
    )


def _saving(left: SelfBuilt) -> Iterator[str]:
    if left.material is None or left.saves is None:
        return
    rest = f"What is then hung costs {format_money(left.material.price)} from us, delivered"
    if left.saves > 0:
        yield (
            f"{rest}: with it you save {format_money(left.saves)} against the new fence alone "
            f"({format_money(left.whole_price)}) and do the hanging yourself."
        )
    else:
        yield (
            f"{rest}: with it you pay {format_money(-left.saves)} more than for the new fence "
            f"alone ({format_money(left.whole_price)})."
        )


def _alternates(estimate: Estimate) -> Iterator[Beside]:
    for row in alternate_rows(estimate):
        result = row.priced.result
        if result is None or any(each.severity == "stop" for each in result.findings):
            continue
        yield Beside(
            key=row.priced.alternate.key,
            name=row.priced.alternate.name,
            about=row.differs,
            price=result.money.price,
            change=result.money.price - estimate.price,
        )
