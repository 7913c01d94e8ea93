"""The starter set: whatever it names it also prices and rates."""

import pytest

from estimating.engine.reading import check_items
from estimating.engine.site import Conditions, Gate
from tests.starter_cases import estimate_line, fence_line, starter_catalog

SYSTEMS = (
    "vinyl_privacy_6ft",
    "vinyl_privacy_6ft_short_stiffener",
    "vinyl_privacy_4ft",
    "vinyl_picket_4ft",
    "vinyl_ranch_2_rail",
    "vinyl_ranch_3_rail",
    "vinyl_ranch_4_rail",
    "wood_privacy_side_6ft",
    "wood_privacy_lapped_6ft",
    "wood_privacy_shadowbox_6ft",
    "wood_privacy_trim_6ft",
    "wood_picket_4ft",
    "split_rail_2",
    "split_rail_3",
    "chain_link_4ft",
    "chain_link_4ft_no_wire",
    "chain_link_6ft",
    "chain_link_6ft_slats",
    "chain_link_6ft_commercial",
    "steel_panel_4ft",
    "aluminium_panel_4ft",
    "field_fence_4ft",
    "field_fence_4ft_steel",
)
SOILS = ("sand", "normal", "stiff", "shale")
METHODS = ("skid_steer", "mini_loader", "two_man_auger", "hand")
GATES = (
    Gate(id="G1", station_in=96.0, clear_opening_in=42.0),
    Gate(id="G2", station_in=300.0, clear_opening_in=120.0, leaves=2, use="drive"),
    Gate(id="G3", station_in=700.0, clear_opening_in=48.0, use="pool"),
)


def test_the_starter_set_holds_the_systems_it_should() -> None:
    assert set(starter_catalog().systems) == set(SYSTEMS)


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_item_of_a_system_is_in_the_price_book(system: str) -> None:
    check_items(starter_catalog(), {system})


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_activity_of_a_system_has_a_rate(system: str) -> None:
    catalog = starter_catalog()

    assert set(catalog.systems[system].labor.values()) <= set(catalog.rates.hours)


def test_every_machine_has_a_price_by_the_day() -> None:
    catalog = starter_catalog()

    for item in catalog.rules.equipment.values():
        assert (catalog.prices[item].kind, catalog.prices[item].unit) == ("equipment", "day")


@pytest.mark.parametrize("soil", SOILS)
@pytest.mark.parametrize("method", METHODS)
def test_every_soil_can_be_dug_by_every_method_but_one(soil: str, method: str) -> None:
    # A two-man auger often fails in shale, so that pair is left without a rate on purpose.
    conditions = Conditions(soil_class=soil, dig_method=method)
    result = estimate_line(fence_line("chain_link_4ft", [40.0]), None, conditions)
    has_rate = "missing-rate" not in {f.code for f in result.findings}

    assert has_rate == ((soil, method) != ("shale", "two_man_auger"))


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_fence_with_every_kind_of_gate_meets_no_stop(system: str) -> None:
    result = estimate_line(fence_line(system, [90.0, 40.0], gates=GATES))

    assert [f for f in result.findings if f.severity == "stop"] == []
    assert result.money.price > 1000


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_pool_gate_closes_and_latches_by_itself(system: str) -> None:
    items = {q.item for q in estimate_line(fence_line(system, [90.0], gates=GATES[2:])).quantities}

    assert any("self_closing" in item for item in items)
    assert "gate_latch_pool" in items
    assert not items & {"gate_latch", "cl_fork_latch", "gate_hinge_pair", "cl_gate_hinge_set"}


def test_what_wind_meets_is_said_by_each_system_itself_and_never_taken_over() -> None:
    systems = starter_catalog().systems
    assert [key for key, system in systems.items() if system.wind is None] == []
    # Slats close the mesh: from 0.7 up the code's solid wall counts.
    slats = systems["chain_link_6ft_slats"].wind
    mesh = systems["chain_link_6ft"].wind
    assert slats is not None
    assert slats.screen.is_solid
    assert mesh is not None
    assert not mesh.screen.is_solid
