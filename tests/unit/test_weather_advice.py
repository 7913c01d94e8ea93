"""How fast fresh concrete dries: never less than not at all; what no figure can be is refused."""

import pytest

from scheduling.engine.errors import EngineError
from scheduling.engine.weather_advice import evaporation_kg_m2_h

MILD = {"concrete_f": 68.0, "air_f": 68.0, "humidity_pct": 50.0, "wind_mph": 3.0}


def test_damp_air_over_cold_concrete_takes_nothing() -> None:
    assert evaporation_kg_m2_h(concrete_f=41, air_f=77, humidity_pct=100, wind_mph=12) == 0.0


@pytest.mark.parametrize(
    ("field", "value"),
    [("humidity_pct", 101.0), ("humidity_pct", -1.0), ("wind_mph", -1.0), ("air_f", float("nan"))],
)
def test_figures_that_can_t_be_are_refused_at_their_field(field: str, value: float) -> None:
    with pytest.raises(EngineError) as refused:
        evaporation_kg_m2_h(**MILD | {field: value})
    assert refused.value.field == field
