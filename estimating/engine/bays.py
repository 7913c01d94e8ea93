"""Dividing a stretch of fence into bays on the 1/16 in grid."""

import math
from typing import Literal

from estimating.engine.geometry import PER_INCH

Division = Literal["equal", "full_and_short"]
# Half a sixteenth: a length this much over whole bays is a reading error, not another bay.
COUNT_TOLERANCE_IN = 1 / 32


def count_bays(length_in: float, max_on_centre_in: float) -> int:
    """Return the fewest bays that keep every on-centre distance within the maximum."""
    return max(1, math.ceil((length_in - COUNT_TOLERANCE_IN) / max_on_centre_in))


def divide(length_in: float, max_on_centre_in: float, division: Division) -> list[float]:
    """Divide a length of whole sixteenths into bays that add up to it exactly.

    Equal bays differ by at most 1/16 in, the longer ones spread over the stretch. Full bays are
    followed by one short bay with the rest.
    """
    count = count_bays(length_in, max_on_centre_in)
    total = round(length_in * PER_INCH)
    if division == "full_and_short" and count > 1:
        full = math.floor(max_on_centre_in * PER_INCH + 1e-9)
        rest = total - full * (count - 1)
        return [full / PER_INCH] * (count - 1) + [rest / PER_INCH]
    ends = [total * i // count for i in range(count + 1)]
    return [(ends[i + 1] - ends[i]) / PER_INCH for i in range(count)]


def saving_in(length_in: float, max_on_centre_in: float) -> float:
    """Return by how much a stretch must be shorter to need one bay less (0 with one bay)."""
    count = count_bays(length_in, max_on_centre_in)
    return length_in - (count - 1) * max_on_centre_in if count > 1 else 0.0
