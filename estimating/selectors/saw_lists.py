"""The saw list in words: which stock lengths are cut into what, and how good the plan is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.drawing.bars import bar_svg
from estimating.engine.result import EstimateResult
from estimating.engine.saw_plan import CutBar, CutPlan
from firm.measure.money import format_money


@dataclass(frozen=True, kw_only=True, slots=True)
class SawBar:
    """Bars that are cut alike, under the item's name, with their picture."""

    name: str
    bar: CutBar
    picture: str

    @property
    def is_whole(self) -> bool:
        """Whether the bar is used as it comes, without a cut."""
        return self.bar.offcut_in == 0 and sum(piece.pieces for piece in self.bar.pieces) == 1


@dataclass(frozen=True, kw_only=True, slots=True)
class SawList:
    """How all pieces of one material are cut; `proof` says how good that is, for the office."""

    name: str
    kerf_in: float
    keep_from_in: float
    bars: tuple[SawBar, ...]
    bar_count: int
    proof: str
    is_proven: bool
    against_first_fit: str


def saw_lists(result: EstimateResult) -> list[SawList]:
    """Return the saw list of every material that is cut from stock."""
    names = {quantity.item: quantity.name for quantity in result.quantities}
    return [_saw_list(plan, names) for plan in result.cut_plans]


def _saw_list(plan: CutPlan, names: Mapping[str, str]) -> SawList:
    used = list(dict.fromkeys(bar.item for bar in plan.bars))
    return SawList(
        name=", ".join(names.get(item, item) for item in used),
        kerf_in=plan.kerf_in,
        keep_from_in=plan.keep_from_in,
        bars=tuple(
            SawBar(name=names.get(bar.item, bar.item), bar=bar, picture=bar_svg(bar))
            for bar in plan.bars
        ),
        bar_count=plan.bar_count,
        proof=_proof(plan),
        is_proven=plan.is_proven,
        against_first_fit=_against_first_fit(plan),
    )


def _proof(plan: CutPlan) -> str:
    if plan.is_proven:
        return "proven fewest" if plan.has_one_length else "proven cheapest"
    if not plan.has_one_length or not plan.cost:
        return f"at most {format_money(plan.cost - plan.least_cost)} more than the proven bound"
    each = plan.cost / plan.bar_count
    more = round((plan.cost - plan.least_cost) / each)
    return f"at most {more} more than the proven bound"


def _against_first_fit(plan: CutPlan) -> str:
    """Return what the plan saves over fitting the longest pieces first, or nothing."""
    fewer = plan.first_fit_bars - plan.bar_count
    cheaper: Decimal = plan.first_fit_cost - plan.cost
    saved: Sequence[str] = [
        *([f"{fewer} fewer" if fewer > 0 else ""]),
        *([f"{format_money(cheaper)} less" if cheaper > 0 else ""]),
    ]
    words = ", ".join(each for each in saved if each)
    return f"{words} than cutting the longest first" if words else ""
