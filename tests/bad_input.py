"""A sound site of two lines that tests spoil, and how a document is worked out line by line."""

import copy
from functools import cache
from typing import Any

from estimating.engine.estimate import estimate
from estimating.engine.reading import merge_catalog_data, read_catalog, read_site
from estimating.engine.reading_catalog import CATALOG_KEYS
from estimating.engine.result import EstimateResult
from estimating.starter import load_starter_data
from tests.starter_cases import starter_catalog

Document = dict[str, Any]

DOCUMENT: Document = {
    "format": "firm-footing-site",
    "version": 1,
    "name": "Two lines",
    "conditions": {"soil_class": "normal", "frost_depth_in": 36, "wind_speed_mph": 115},
    "lines": [
        {
            "id": "A",
            "system": "chain_link_4ft",
            "legs": [{"length_in": 432}, {"length_in": 300, "turn_deg": 90}],
        },
        {
            "id": "B",
            "system": "vinyl_privacy_6ft",
            "start_y_in": -3000,
            "legs": [{"length_in": 480}, {"length_in": 288, "turn_deg": 90}],
            "gates": [{"id": "G1", "station_in": 200, "clear_opening_in": 48}],
            "ground": [
                {"station_in": 0, "elevation_in": 0},
                {"station_in": 480, "elevation_in": 6},
            ],
            "no_dig": [{"station_in": 100, "facility_width_in": 4}],
        },
    ],
}


@cache
def starter_data() -> Document:
    return load_starter_data()


def spoiled(path: str, value: Any) -> Document:
    """Return the document with one value set, such as `lines.1.legs.0.length_in`."""
    document = copy.deepcopy(DOCUMENT)
    *parents, last = path.split(".")
    place: Any = document
    for name in parents:
        place = place[int(name)] if isinstance(place, list) else place.setdefault(name, {})
    place[int(last) if isinstance(place, list) else last] = value
    return document


def worked_out(document: Document) -> EstimateResult:
    """Work a document out as the command and the pages do: what can't be is left out."""
    if document.keys().isdisjoint(CATALOG_KEYS):
        catalog = starter_catalog()
    else:
        catalog = read_catalog(merge_catalog_data(starter_data(), document), leave_out=True)
    return estimate(read_site(document, leave_out=True), catalog)
