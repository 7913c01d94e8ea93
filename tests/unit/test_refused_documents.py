"""Documents that name what can't be: ends of a loop, one gate twice, a post nobody sets."""

from typing import Any

import pytest

from estimating.engine.errors import EngineError
from estimating.engine.reading import read_site

LOOP = {
    "id": "A",
    "system": "panel",
    "closed": True,
    "legs": [{"length_in": 120}, *[{"length_in": 120, "turn_deg": 90}] * 3],
}
PLAIN = {"id": "B", "system": "panel", "legs": [{"length_in": 480}]}
GATE = {"id": "G1", "station_in": 60, "clear_opening_in": 48}
LONG_LEGS = [{"length_in": 120_000}] * 11


def shared(line_id: str, at: str) -> dict[str, str]:
    return {"kind": "shared_post", "shared_line": line_id, "shared_at": at}


def refusal(*lines: dict[str, Any]) -> EngineError:
    document = {"format": "firm-footing-site", "version": 1, "name": "X", "lines": list(lines)}
    with pytest.raises(EngineError) as caught:
        read_site(document)
    return caught.value


@pytest.mark.parametrize(
    ("lines", "field", "reason"),
    [
        ([LOOP | {"start": {"kind": "wall"}}], "lines[0].start.kind", "post on a closed line"),
        ([LOOP | {"end": {"measured_at": "outer_face"}}], "lines[0].end.measured_at", "closed"),
        ([PLAIN | {"gates": [GATE, GATE | {"station_in": 200}]}], "lines[0].gates[1].id", "taken"),
        ([PLAIN | {"legs": [], "points": [{"x_in": 0, "y_in": 0}]}], "lines[0].points", "legs"),
        ([PLAIN | {"legs": LONG_LEGS}], "lines", "longer than"),
        (
            [{"id": f"L{i}", "system": "p", "legs": [{"length_in": 9}] * 400} for i in range(3)],
            "lines",
            "1,200 legs",
        ),
        (
            [PLAIN | {"scope": "removal"}, PLAIN | {"id": "C", "start": shared("B", "end")}],
            "lines[1].start.shared_line",
            "only removed",
        ),
        (
            [PLAIN | {"start": {"kind": "wall"}}, PLAIN | {"id": "C", "end": shared("B", "start")}],
            "lines[1].end.shared_at",
            "no post of its own",
        ),
        ([PLAIN | {"name": 7}], "lines[0].name", "must be text"),
        ([PLAIN | {"name": "x" * 201}], "lines[0].name", "200"),
    ],
)
def test_what_can_not_be_is_refused_by_its_field(
    lines: list[dict[str, Any]], field: str, reason: str
) -> None:
    error = refusal(*lines)

    assert error.field == field
    assert reason in str(error)


def test_points_that_are_one_point_are_refused() -> None:
    line = {"id": "A", "system": "panel", "points": [{"x_in": 0, "y_in": 0}]}

    assert "at least two points" in str(refusal(line))
