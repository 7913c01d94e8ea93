"""The site plan of an estimate as an SVG picture."""

from estimating.drawing import plan
from estimating.engine.result import LineLayout
from estimating.mapping import from_plain
from estimating.models import Estimate
from estimating.services.scope_words import length_words


def plan_svg(estimate: Estimate) -> str:
    """Return the plan drawn to scale, or nothing for a repair without a layout."""
    lines = [from_plain(LineLayout, line) for line in estimate.result.get("lines", ())]
    if not lines:
        return ""
    return plan.plan_svg(
        lines, title=f"Site plan: {estimate.title}", length_words=length_words, id_prefix="plan"
    )
