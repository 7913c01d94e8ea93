"""Documents read into the engine's objects; each bad field is refused by its path."""

import copy
import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import estimating
from estimating.engine.errors import EngineError
from estimating.engine.reading import (
    check_items,
    merge_catalog_data,
    read_catalog,
    read_overrides,
    read_site,
    read_typed_lines,
)
from estimating.starter import load_starter_data

SCHEMA = Path(estimating.__file__).parent / "data" / "site.schema.json"
GOLDEN = sorted((Path(__file__).parent.parent / "golden").glob("*.json"))
Document = dict[str, Any]

DOCUMENT: Document = {
    "format": "firm-footing-site",
    "version": 1,
    "name": "Mill Lane",
    "conditions": {"soil_class": "normal", "permit_fee": "45.00"},
    "lines": [
        {
            "id": "A",
            "system": "vinyl_privacy_6ft",
            "legs": [{"length_in": 480}, {"length_in": 300, "turn_deg": 90}],
            "gates": [{"id": "G1", "station_in": 200, "clear_opening_in": 48}],
            "ground": [{"station_in": 0, "elevation_in": 0}],
            "no_dig": [{"station_in": 100, "facility_width_in": 4}],
        },
        {
            "id": "B",
            "system": "vinyl_privacy_6ft",
            "points": [{"x_in": 480, "y_in": 0}, {"x_in": 480, "y_in": 400}],
            "start": {"kind": "shared_post", "shared_line": "A", "shared_at": "corner 1"},
        },
    ],
}


def changed(path: str, value: Any) -> Document:
    """Return the document with one value set, such as `lines.0.legs.1.length_in`."""
    document = copy.deepcopy(DOCUMENT)
    *parents, last = path.split(".")
    place: Any = document
    for name in parents:
        place = place[int(name)] if isinstance(place, list) else place[name]
    place[int(last) if isinstance(place, list) else last] = value
    return document


def refusal(read: Callable[[], object]) -> EngineError:
    with pytest.raises(EngineError) as caught:
        read()
    return caught.value


def test_document_is_read_with_its_defaults() -> None:
    site = read_site(DOCUMENT)
    first, second = site.lines
    assert (first.scope, first.taped, first.finished_face) == ("whole_fence", "level", "left")
    assert (first.gates[0].leaves, first.gates[0].hinge_side) == (1, "start")
    assert site.conditions.permit_fee == "45.00"
    # Due north, 400 in.
    assert (second.bearing_deg, second.legs[0].length_in) == (0, 400)
    assert (second.start_x_in, second.start_y_in) == (480, 0)


def test_points_turn_right_for_a_positive_turn() -> None:
    # North 100, east 100, south 100: two right turns of 90.
    points = [{"x_in": x, "y_in": y} for x, y in ((0, 0), (0, 100), (100, 100), (100, 0))]
    document = changed("lines.1", {"id": "B", "system": "x", "points": points})
    legs = read_site(document).lines[1].legs
    assert [(leg.length_in, leg.turn_deg) for leg in legs] == [(100, 0), (100, 90), (100, 90)]


@pytest.mark.parametrize(
    ("path", "value", "field", "reason"),
    [
        ("lines.0.legs.1.length_in", -300, "lines[0].legs[1].length_in", "can't be negative"),
        ("lines.0.legs.1.length_in", 0, "lines[0].legs[1].length_in", "above 0"),
        ("lines.0.legs.0.length_in", float("nan"), "lines[0].legs[0].length_in", "finite"),
        ("lines.0.legs.0.length_in", float("inf"), "lines[0].legs[0].length_in", "finite"),
        ("lines.0.legs.0.length_in", 10**400, "lines[0].legs[0].length_in", "finite"),
        ("lines.0.legs.0.length_in", 1e9, "lines[0].legs[0].length_in", "above 120000"),
        ("lines.0.legs.0.length_in", "480", "lines[0].legs[0].length_in", "must be a number"),
        ("lines.0.legs.0.length_in", True, "lines[0].legs[0].length_in", "must be a number"),
        ("lines.0.legs.0.length_in", None, "lines[0].legs[0].length_in", "is missing"),
        ("lines.0.legs.0", 480, "lines[0].legs[0]", "named fields"),
        ("lines.0.legs.0.lenght_in", 1, "lines[0].legs[0].lenght_in", "mean 'length_in'"),
        ("lines.0.legs", [], "lines[0].legs", "at least one leg"),
        ("lines.0.legs", [{"length_in": 1}] * 10_000, "lines[0].legs", "more than 500"),
        ("lines.0.legs", {"length_in": 1}, "lines[0].legs", "must be a list"),
        ("lines.0.points", [], "lines[0].points", "beside legs"),
        ("lines.0.scope", "half", "lines[0].scope", "one of whole_fence, posts_only, removal"),
        ("lines.0.closed", "no", "lines[0].closed", "true or false"),
        ("lines.0.closed", True, "lines[0].legs", "3 or more"),
        ("lines.0.id", "B", "lines[1].id", "taken"),
        ("lines.0.id", "", "lines[0].id", "can't be empty"),
        ("lines.0.gates.0.clear_opening_in", 481, "lines[0].gates[0].clear_opening_in", "longer"),
        ("lines.0.gates.0.station_in", 781, "lines[0].gates[0].station_in", "past the line's end"),
        ("lines.0.gates.0.leaves", 3, "lines[0].gates[0].leaves", "above 2"),
        ("lines.0.gates.0.leaves", 1.5, "lines[0].gates[0].leaves", "whole number"),
        ("lines.0.ground.0.station_in", "x", "lines[0].ground[0].station_in", "a number"),
        ("lines.0.ground.0.elevation_in", 1e7, "lines[0].ground[0].elevation_in", "above 250000"),
        ("lines.0.ground", [{"station_in": 0, "elevation_in": 90_000},
                            {"station_in": 9, "elevation_in": 77_999}],
         "lines[0].ground[1].elevation_in", "12000 in is the most"),
        ("lines.0.no_dig.0.crossing_deg", 200, "lines[0].no_dig[0].crossing_deg", "above 180"),
        ("lines.1.start.shared_line", "Z", "lines[1].start.shared_line", "no other line"),
        ("lines.1.start.shared_line", "", "lines[1].start.shared_line", "is missing"),
        ("lines.1.start.shared_at", "corner 2", "lines[1].start.shared_at", "corner 1 to 1"),
        ("lines.1.points.1.x_in", None, "lines[1].points[1].x_in", "is missing"),
        ("lines.1.points.1", {"x_in": 480, "y_in": 0}, "lines[1].points[1]", "from 1/16 in"),
        ("lines.1.bearing_deg", 10, "lines[1].bearing_deg", "beside points"),
        ("lines.1.end", {"kind": "wall", "measured_at": "inner_face"}, "lines[1].end.measured_at",
         "must be wall_face"),
        ("lines", [], "lines", "at least one line"),
        ("lines", "A", "lines", "must be a list"),
        ("format", "other", "format", "firm-footing-site"),
        ("version", 2, "version", "only version 1"),
        ("nmae", "x", "nmae", "Did you mean 'name'"),
        ("name", "a\x00b", "name", "control character"),
        ("name", "x" * 201, "name", "longer than 200"),
        ("conditions.permit_fee", "a lot", "conditions.permit_fee", "must be an amount"),
        ("conditions.permit_fee", "NaN", "conditions.permit_fee", "finite"),
        ("conditions.frost_depth_in", -1, "conditions.frost_depth_in", "negative"),
        ("conditions.frost_depth_in", [1], "conditions.frost_depth_in", "not a list"),
    ],
)  # fmt: skip
def test_bad_input_is_refused_by_its_field(path: str, value: Any, field: str, reason: str) -> None:
    error = refusal(lambda: read_site(changed(path, value)))
    assert error.field == field
    assert reason in str(error)


def test_what_is_no_document_at_all_is_refused() -> None:
    error = refusal(lambda: read_site([]))  # type: ignore[arg-type]
    assert str(error) == "The document must hold named fields."


def test_shared_post_must_be_the_other_lines_own() -> None:
    document = changed("lines.0.end", {"kind": "wall"})
    document["lines"][1]["start"]["shared_at"] = "end"
    assert refusal(lambda: read_site(document)).field == "lines[1].start.shared_at"


def test_script_in_a_name_is_kept_as_the_text_it_is() -> None:
    name = "<script>alert('x')</script>"
    assert read_site(changed("name", name)).name == name


def test_too_many_legs_on_all_lines_together_are_refused() -> None:
    legs = [{"length_in": 12}] * 400
    document = copy.deepcopy(DOCUMENT)
    document["lines"] = [{"id": name, "system": "x", "legs": legs} for name in "ABC"]
    assert "1,200 legs" in str(refusal(lambda: read_site(document)))


def test_starter_data_reads_as_a_whole_catalog() -> None:
    catalog = read_catalog(load_starter_data())
    check_items(catalog, catalog.systems)
    assert {"vinyl_privacy_6ft", "chain_link_4ft"} <= catalog.systems.keys()


def catalog_with(*path: str, value: Any) -> Document:
    data = load_starter_data()
    place: Any = data
    for name in path[:-1]:
        place = place[name]
    place[path[-1]] = value
    return data


VINYL = ("fence_systems", "vinyl_privacy_6ft")


@pytest.mark.parametrize(
    ("path", "value", "field", "reason"),
    [
        ((*VINYL, "max_on_centre_in"), 0, ".max_on_centre_in", "below 12"),
        ((*VINYL, "family"), "brick", ".family", "one of panel, fabric"),
        ((*VINYL, "posts"), {}, ".posts.end", "is missing"),
        ((*VINYL, "posts", "middle"), {"item": "x", "width_in": 1, "length_in": 1},
         ".posts.middle", "no post's role"),
        ((*VINYL, "posts", "line", "width_in"), "5", ".posts.line.width_in", "must be a number"),
        ((*VINYL, "posts", "line", "displaces"), {"wet_set": "all"},
         ".posts.line.displaces.wet_set", "solid, outline, nothing"),
        ((*VINYL, "materials"), [{"item": "x", "driver": "mile"}], ".materials[0].driver",
         "must be one of"),
        ((*VINYL, "materials"), [{"item": "x", "driver": "post", "roles": [1]}],
         ".materials[0].roles[0]", "must be text"),
        ((*VINYL, "hieght_in"), 3, ".hieght_in", "Did you mean 'height_in'"),
    ],
)  # fmt: skip
def test_bad_fence_system_is_refused_by_its_field(
    path: tuple[str, ...], value: Any, field: str, reason: str
) -> None:
    error = refusal(lambda: read_catalog(catalog_with(*path, value=value)))
    assert error.field == ".".join(VINYL) + field
    assert reason in str(error)


@pytest.mark.parametrize(
    ("path", "value", "reason"),
    [
        (("rules", "crew_rate"), "-1", "from 0"),
        (("rules", "crew_rate"), None, "is missing"),
        (("rules", "crew_size"), 0, "below 1"),
        (("rules", "target_margin_pct"), "100", "from 0 to 95"),
        (("rules", "overhead_method"), "guess", "one of per_crew_day"),
        (("rates", "hours", "dig.sand.hand"), -1, "negative"),
        (("rates", "hours", "dig.sand.hand"), "2", "must be a number"),
        (("rates", "swell_pct"), [], "named fields"),
        (("prices", "concrete_80lb", "unit_cost"), "cheap", "must be an amount"),
        (("prices", "concrete_80lb", "pack"), 0, "below 0.001"),
        (("prices", "concrete_80lb", "yield_ft3"), 1e-300, "below 0.05"),
    ],
)
def test_bad_price_rate_or_rule_is_refused_by_its_field(
    path: tuple[str, ...], value: Any, reason: str
) -> None:
    error = refusal(lambda: read_catalog(catalog_with(*path, value=value)))
    assert error.field == ".".join(path)
    assert reason in str(error)


def test_item_that_the_price_book_lacks_is_named_with_a_near_match() -> None:
    materials = [{"item": "concrete_80bl", "driver": "post"}]
    catalog = read_catalog(catalog_with(*VINYL, "materials", value=materials))
    error = refusal(lambda: check_items(catalog, ["vinyl_privacy_6ft"]))
    assert error.field == "fence_systems.vinyl_privacy_6ft.materials[0].item"
    assert "Did you mean 'concrete_80lb'?" in str(error)


def test_a_files_own_data_goes_over_the_base_key_by_key() -> None:
    base = load_starter_data()
    own = {
        "prices": {"concrete_80lb": {"name": "Bag", "unit_cost": 7.5, "yield_ft3": 0.6}},
        "rates": {"hours": {"dig.sand.hand": 2}},
        "rules": {"crew_size": 4},
    }
    merged = read_catalog(merge_catalog_data(base, own))
    assert merged.prices["concrete_80lb"].unit_cost == Decimal("7.5")
    assert len(merged.prices) == len(base["prices"])
    assert merged.rates.hours["dig.sand.hand"] == 2
    assert len(merged.rates.hours) == len(base["rates"]["hours"])
    assert merged.rules.crew_size == 4
    assert base == load_starter_data()  # left as it was


@pytest.mark.parametrize("name", ["prices", "rates", "rules", "fence_systems"])
def test_data_of_the_wrong_kind_is_refused(name: str) -> None:
    assert refusal(lambda: merge_catalog_data(load_starter_data(), {name: 3})).field == name


def test_typed_lines_and_overrides_are_read_exactly() -> None:
    document = {
        "typed_lines": [{"key": "dump", "description": "Dump fee", "unit_cost": "38.50"}],
        "overrides": [{"target": "price", "value": "5000.00", "reason": "Neighbour's rate"}],
    }
    (typed,) = read_typed_lines(document)
    (override,) = read_overrides(document)
    assert (typed.unit_cost, typed.quantity, typed.price) == (Decimal("38.50"), Decimal(1), None)
    assert override.value == Decimal(5000)


@pytest.mark.parametrize(
    ("document", "field"),
    [
        ({"typed_lines": [{"key": "x"}]}, "typed_lines[0].description"),
        ({"typed_lines": [{"key": "x", "description": "y", "cost": 1}]}, "typed_lines[0].cost"),
        ({"overrides": [{"target": "price", "value": "1", "reason": " "}]}, "overrides[0].reason"),
    ],
)
def test_bad_typed_line_or_override_is_refused_by_its_field(document: Document, field: str) -> None:
    read = read_typed_lines if "typed_lines" in document else read_overrides
    assert refusal(lambda: read(document)).field == field


def schema() -> Any:
    return json.loads(SCHEMA.read_text(encoding="utf-8"))


def test_schema_is_one_and_takes_the_documents() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    validator = jsonschema.Draft202012Validator(schema())
    assert GOLDEN
    for document in (DOCUMENT, *(json.loads(path.read_text()) for path in GOLDEN)):
        assert [error.message for error in validator.iter_errors(document)] == []


@pytest.mark.parametrize(
    "document",
    [
        changed("lines.0.legs.1.length_in", -300),
        changed("lines.0.scope", "half"),
        changed("lines.0.lenght", 1),
        changed("lines.1.bearing_deg", 10),
        changed("lines.1.start.shared_line", None),
        changed("version", 2),
        changed("lines", []),
    ],
)
def test_schema_and_reader_refuse_alike(document: Document) -> None:
    assert not jsonschema.Draft202012Validator(schema()).is_valid(document)
    refusal(lambda: read_site(document))


def test_schema_describes_every_field() -> None:
    whole = schema()
    objects = [whole, *whole["$defs"].values()]
    for each in objects:
        for name, field in each.get("properties", {}).items():
            assert field.get("description") or "$ref" in field, name
        assert each["description"]


@pytest.mark.parametrize("name", ["line", "leg", "gate", "conditions", "fence_system", "rules"])
def test_schema_says_the_unit_of_every_measure(name: str) -> None:
    units = {"_in": "inches", "_deg": "degrees", "_pct": "percent", "_ft": "feet"}
    for field, described in schema()["$defs"][name]["properties"].items():
        for ending, unit in units.items():
            if field.endswith(ending):
                assert unit in described["description"].lower(), field


def test_a_crew_of_nobody_sets_nothing_up() -> None:
    limits = {"setup.phase_crew": 0}
    error = refusal(lambda: read_catalog(catalog_with("rates", "limits", value=limits)))
    assert error.field == "rates.limits.setup.phase_crew"
    assert "less than one person" in str(error)
