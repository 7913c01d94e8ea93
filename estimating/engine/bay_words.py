"""How a bay stands on its ground and why, in one sentence."""

from bisect import bisect_right
from collections.abc import Callable, Sequence

from estimating.engine.result import Bay
from estimating.engine.string_line import BEND_IN

Words = Callable[[float], str]
Profile = Sequence[tuple[float, float]]


def height_at(profile: Profile, station_in: float) -> float:
    """Return the height of a profile of (station, height) at a station, level beyond its ends."""
    i = bisect_right(profile, station_in, key=lambda point: point[0])
    if not profile or i == 0:
        return profile[0][1] if profile else 0.0
    if i == len(profile):
        return profile[-1][1]
    (start_in, low_in), (end_in, high_in) = profile[i - 1], profile[i]
    return low_in + (station_in - start_in) * (high_in - low_in) / (end_in - start_in)


def how_it_stands(bay: Bay, profile: Profile, max_rack_in: float, write: Words) -> str:
    """Return the sentence on a bay, "" in results of before this was worked out."""
    start_in, end_in = bay.start_station_in, bay.start_station_in + bay.on_centre_in
    ground_in = height_at(profile, end_in) - height_at(profile, start_in)
    moves = f"{'rises' if ground_in >= 0 else 'falls'} {write(abs(ground_in))}"
    so = "it stands level and steps" if bay.follows == "stepped" else "it stands level"
    return {
        "": "",
        "fabric": "Fabric follows the ground.",
        "no_shots": "No ground shots: taken as level.",
        "even": "Level: the ground is even enough for a straight string.",
        "within_rack": f"Racks: the fence {_rise(bay, write)}; a panel racks up to "
        f"{write(max_rack_in)}.",
        "over_rack": f"The ground {moves} here and a panel racks {write(max_rack_in)} at most, "
        f"so {so}.",
        "panel_too_short": f"The ground {moves} here and a racked panel would not reach from post "
        f"to post, so {so}.",
        "uneven": f"Between its posts the ground is too uneven to follow, so {so}.",
        "fewer_steps": f"It could rack, but level it saves a step, so {so}.",
        "pinned": _pinned(bay, write),
    }[bay.because]


def _rise(bay: Bay, write: Words) -> str:
    return f"{'rises' if bay.rise_in >= 0 else 'falls'} {write(abs(bay.rise_in))}"


def _pinned(bay: Bay, write: Words) -> str:
    if bay.follows == "racked":
        return f"Racks because the office set it so: the fence {_rise(bay, write)}."
    how = "level, with a step" if bay.follows == "stepped" else "level, with no step here"
    return f"Stands {how}, because the office set it so."


def gap_words(bay: Bay, write: Words) -> str:
    """Return the gap under a bay, from least to largest where they differ."""
    least_in, largest_in = max(0.0, bay.least_gap_in), bay.largest_gap_in
    if largest_in - least_in < BEND_IN:
        return write(largest_in)
    return f"{write(least_in)} to {write(largest_in)}"
