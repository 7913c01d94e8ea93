"""The words of a line of the price, its length in the firm's units."""

from firm.measure.written import METRIC, feet_of_fence


def price_words(description: str, fence_ft: float, units: str) -> str:
    """Return the words with the line's length in metres, where the firm measures in them.

    The engine writes the length to a tenth of a foot; metres come from the length itself.
    """
    if units != METRIC:
        return description
    in_feet, in_metres = f"{fence_ft:,.1f} ft of ", f"{feet_of_fence(fence_ft, units)} of "
    return description.replace(in_feet, in_metres, 1)
