"""Places on the map as people type them: '41.59, -93.62', as a phone's map shows it."""

import re

_NUMBER = r"([-+]?\d{1,3}(?:\.\d+)?)\s*\N{DEGREE SIGN}?\s*([NSEW]?)"
_PLACE = re.compile(_NUMBER + r"\s*[,;\s]\s*" + _NUMBER, re.IGNORECASE)
# What a phone tells: a millionth of a degree is 4 in.
PLACES_KEPT = 6
MOST_LAT_DEG, MOST_LON_DEG = 90.0, 180.0
LIKE_THIS = "Type latitude and longitude as the phone's map shows them: 41.59, -93.62."


class PlaceError(ValueError):
    """What was typed names no place."""


def parse_place(text: str) -> tuple[float, float]:
    """Return degrees north and east from text such as '41.59, -93.62' or '41.59 N, 93.62 W'.

    Raises:
        PlaceError: it names no place on the globe, or has its two figures the wrong way round.
    """
    found = _PLACE.fullmatch(text.strip())
    if found is None:
        raise PlaceError(LIKE_THIS)
    lat_deg = _degrees(found[1], found[2], "NS")
    lon_deg = _degrees(found[3], found[4], "EW")
    if abs(lat_deg) > MOST_LAT_DEG:
        raise PlaceError(f"{lat_deg:g} is no latitude: it comes first, and ends at 90.")
    if abs(lon_deg) > MOST_LON_DEG:
        raise PlaceError(f"{lon_deg:g} is no longitude: it ends at 180.")
    return round(lat_deg, PLACES_KEPT), round(lon_deg, PLACES_KEPT)


def place_words(lat_deg: float, lon_deg: float) -> str:
    """Return a place as it is typed: '41.59, -93.62'."""
    return f"{_plain(lat_deg)}, {_plain(lon_deg)}"


def _plain(degrees: float) -> str:
    return f"{degrees:.{PLACES_KEPT}f}".rstrip("0").rstrip(".")


def _degrees(number: str, side: str, sides: str) -> float:
    if not side:
        return float(number)
    if side.upper() not in sides or number[0] in "+-":
        raise PlaceError(LIKE_THIS)
    return -float(number) if side.upper() == sides[1] else float(number)
