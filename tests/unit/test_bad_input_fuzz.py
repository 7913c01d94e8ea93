"""Spoiled documents by the hundred: a result or a refusal that names its field, nothing else."""

import copy
import json
from collections.abc import Callable
from typing import Any

from hypothesis import HealthCheck, event, example, given, settings
from hypothesis import strategies as st

from estimating.engine.errors import EngineError
from estimating.engine.reading import read_site
from estimating.mapping import to_plain
from tests.bad_input import DOCUMENT, Document, worked_out

FIGURES: list[Any] = [
    *(0, -0.0, -1, 1 / 16, 0.03, 1, 5, 11.9, 12, 47, 96, 480, 767.9, 768, 769, 5000),
    *(1e4, 1e6, 1e9, 1e308, -1e308, 10**40, float("nan"), float("inf"), float("-inf")),
    *(True, None, "", " ", "A", "B", "7 ft", "\ud800", [], {}, [[]], [None], {"": 1}),
]
LINES = ("A", "B", "C")
SYSTEMS = ("vinyl_privacy_6ft", "chain_link_6ft", "wood_privacy_side_6ft", "split_rail_3", "")


def paths_of(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the path of every value in a document, deepest last."""
    found = [path] if path else []
    if isinstance(value, dict):
        for key, each in value.items():
            found += paths_of(each, (*path, key))
    elif isinstance(value, list):
        for place, each in enumerate(value):
            found += paths_of(each, (*path, place))
    return found


def put(document: Document, path: tuple[Any, ...], change: Callable[[Any, Any], None]) -> None:
    """Apply a change to the holder of a path, if an earlier change has left it there."""
    place: Any = document
    try:
        for name in path[:-1]:
            place = place[name]
        place[path[-1]]
    except (KeyError, IndexError, TypeError):
        return
    change(place, path[-1])


def set_to(value: Any) -> Callable[[Any, Any], None]:
    def change(place: Any, name: Any) -> None:
        place[name] = copy.deepcopy(value)

    return change


def drop(place: Any, name: Any) -> None:
    del place[name]


def double(place: Any, name: Any) -> None:
    if isinstance(place, list):
        place.append(copy.deepcopy(place[name]))


def rename(place: Any, name: Any) -> None:
    if isinstance(place, dict):
        place[f"{name}_"] = place.pop(name)


changes = st.one_of(
    st.sampled_from(FIGURES).map(set_to),
    st.floats(-100, 1200).map(set_to),
    st.sampled_from([drop, double, rename]),
)
spoils = st.lists(st.tuples(st.sampled_from(paths_of(DOCUMENT)), changes), min_size=1, max_size=4)


def result_or_refusal(document: Document) -> None:
    """Work a document out; what comes is a result that JSON holds, or a refusal with its field."""
    refused: EngineError | None = None
    try:
        result = worked_out(document)
    except EngineError as error:
        refused = error
    if refused is not None:
        event("refused")
        assert refused.field, str(refused)
        return
    event("with a stop" if any(f.severity == "stop" for f in result.findings) else "without")
    # No infinity and no not-a-number in any figure: JSON has neither.
    json.dumps(to_plain(result), allow_nan=False)
    for found in result.findings:
        assert found.message
        assert found.severity != "stop" or (found.place and found.action), found


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(spoils)
def test_spoiled_document_gives_a_result_or_a_refusal_with_its_field(
    spoiling: list[tuple[tuple[Any, ...], Callable[[Any, Any], None]]],
) -> None:
    document = copy.deepcopy(DOCUMENT)
    for path, change in spoiling:
        put(document, path, change)

    result_or_refusal(document)


# Lines with figures of the right kind, however unlikely: the layout has to live with them.
lengths = st.one_of(
    st.sampled_from([1 / 16, 0.5, 2, 5, 12, 24, 95.9375, 96, 96.0625, 288, 289]),
    st.floats(0.05, 700).map(lambda length: round(length, 4)),
)
legs = st.fixed_dictionaries(
    {
        "length_in": lengths,
        "turn_deg": st.sampled_from([0, 0.005, 4, 5, 45, 90, -90, 120, 179, 180, -180]),
    }
)
stations = st.floats(0, 1500).map(lambda station: round(station, 2))
gates = st.fixed_dictionaries(
    {
        "station_in": stations,
        "clear_opening_in": lengths,
        "leaves": st.integers(1, 2),
        "use": st.sampled_from(["walk", "drive", "pool"]),
        "kind": st.sampled_from(["swing", "swing", "slide"]),
        "first_leaf_in": st.one_of(st.none(), lengths),
    }
)
pins = st.fixed_dictionaries(
    {"station_in": stations, "follows": st.sampled_from(["racked", "stepped", "level"])}
)
points = st.fixed_dictionaries(
    {
        "station_in": stations,
        "kind": st.sampled_from(["tree", "drain", "existing_post", "other"]),
        "width_in": st.floats(0, 60),
        "keep_clear_in": st.floats(0, 24),
        "use": st.booleans(),
    }
)
shots = st.fixed_dictionaries(
    {"station_in": st.floats(-50, 1500), "elevation_in": st.floats(-300, 300)}
)
marks = st.fixed_dictionaries(
    {
        "station_in": stations,
        "facility_width_in": st.floats(0, 60),
        "crossing_deg": st.floats(0, 180),
        "hand_dig": st.booleans(),
    }
)
ends: st.SearchStrategy[Document] = st.one_of(
    st.just({}),
    st.just({"kind": "wall"}),
    st.just({"kind": "existing_post", "measured_at": "inner_face"}),
    st.fixed_dictionaries({"measured_at": st.sampled_from(["inner_face", "outer_face"])}),
    st.fixed_dictionaries(
        {
            "kind": st.just("shared_post"),
            "shared_line": st.sampled_from([*LINES, "Z"]),
            "shared_at": st.sampled_from(["start", "end", "corner 1", "corner 9", "gate"]),
        }
    ),
)
lines = st.fixed_dictionaries(
    {
        "id": st.sampled_from(LINES),
        "system": st.sampled_from(SYSTEMS),
        "scope": st.sampled_from(["whole_fence", "posts_only", "removal"]),
        "taped": st.sampled_from(["level", "along_grade"]),
        "closed": st.sampled_from([False, False, True]),
        "start": ends,
        "end": ends,
        "start_x_in": st.floats(-1000, 1000),
        "legs": st.lists(legs, min_size=1, max_size=5),
        "gates": st.lists(gates, max_size=3),
        "ground": st.lists(shots, max_size=6),
        "no_dig": st.lists(marks, max_size=3),
        "bay_pins": st.lists(pins, max_size=3),
        "fixed_points": st.lists(points, max_size=3),
    }
)


def numbered(line: Document) -> Document:
    """Return a line whose gates have ids of their own."""
    gates_of = [{**gate, "id": f"G{n}"} for n, gate in enumerate(line["gates"])]
    return {**line, "gates": gates_of}


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(lines.map(numbered), min_size=1, max_size=3),
    st.fixed_dictionaries(
        {
            "frost_depth_in": st.sampled_from([0, 36, 120]),
            "pool_barrier": st.booleans(),
            "pool_gap_in": st.sampled_from([None, 0, 4]),
            "pool_latch_in": st.sampled_from([None, 40, 54]),
            "sight_leg_in": st.sampled_from([None, 1 / 16, 300]),
            "sight_corner_x_in": st.sampled_from([None, 0, 100]),
            "sight_corner_y_in": st.sampled_from([0, -100]),
            "sight_second_bearing_deg": st.sampled_from([0, 90, 180]),
            "setback_in": st.sampled_from([0, 24]),
            "soil_class": st.sampled_from(["normal", "shale", "moonstone"]),
            "dig_method": st.sampled_from(["skid_steer", "hand", "teaspoon"]),
        }
    ),
)
@example([], {})
def test_any_lines_at_all_give_a_result_or_a_refusal_with_its_field(
    drawn: list[Document], conditions: Document
) -> None:
    result_or_refusal({**DOCUMENT, "lines": drawn, "conditions": conditions})


@settings(max_examples=60, deadline=None)
@given(spoils)
def test_strict_reader_reads_or_refuses_with_a_field(
    spoiling: list[tuple[tuple[Any, ...], Callable[[Any, Any], None]]],
) -> None:
    document = copy.deepcopy(DOCUMENT)
    for path, change in spoiling:
        put(document, path, change)
    refused: EngineError | None = None
    try:
        site = read_site(document)
    except EngineError as error:
        refused = error
    if refused is not None:
        assert refused.field, str(refused)
        return
    assert not site.left_out
    assert len(site.lines) == len(document["lines"])
