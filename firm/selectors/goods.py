"""How goods are counted in what is said to people."""

from firm.measure import sold
from firm.selectors.profile import firm_units


def told(count: int, unit: str) -> str:
    """Return a count for a sentence: 4; or with its unit what a metric firm counts by the metre."""
    return sold.count_told(count, unit, firm_units())
