"""Alternates: one site document with swaps, priced together and as each would be by itself."""

from decimal import Decimal
from typing import Any

import pytest

from estimating.engine.alternates import Alternate, Swap, price_alternates, substituted
from estimating.engine.catalog import Override, TypedLine
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate
from estimating.engine.reading import read_site
from tests.starter_cases import starter_catalog

DOCUMENT: dict[str, Any] = {
    "format": "firm-footing-site",
    "version": 1,
    "name": "Made up",
    "lines": [
        {
            "id": "A",
            "name": "Back line",
            "system": "vinyl_privacy_6ft",
            "legs": [{"length_in": 720.0, "turn_deg": 0.0}],
            "gates": [{"id": "G1", "station_in": 200.0, "clear_opening_in": 48.0}],
        }
    ],
}
MESH = Alternate(key="a", name="Chain link", swaps=(Swap(line_id="A", system="chain_link_6ft"),))
WIDER = Alternate(
    key="b", name="Wider gate", swaps=(Swap(line_id="A", gate_id="G1", opening_in=60.0),)
)


def by_itself(**line: Any) -> Decimal:
    """Return the price of the site written out with the changes, estimated apart."""
    document = {**DOCUMENT, "lines": [{**DOCUMENT["lines"][0], **line}]}
    return estimate(read_site(document), starter_catalog()).money.price


def test_each_alternate_is_the_site_written_out_with_its_swaps() -> None:
    mesh, wider = price_alternates(DOCUMENT, starter_catalog(), [MESH, WIDER])
    gate = {"id": "G1", "station_in": 200.0, "clear_opening_in": 60.0}
    assert mesh.result is not None
    assert wider.result is not None

    assert mesh.result.money.price == by_itself(system="chain_link_6ft")
    assert wider.result.money.price == by_itself(gates=[gate])
    assert mesh.price_change == by_itself(system="chain_link_6ft") - by_itself()
    assert wider.price_change == by_itself(gates=[gate]) - by_itself()
    assert mesh.price_change < 0
    assert [gate.clear_opening_in for line in wider.result.lines for gate in line.gates] == [60.0]


def test_document_given_stays_as_it_is() -> None:
    before = str(DOCUMENT)
    changed = substituted(DOCUMENT, [*MESH.swaps, *WIDER.swaps])

    assert str(DOCUMENT) == before
    assert changed["lines"][0]["system"] == "chain_link_6ft"
    assert changed["lines"][0]["gates"][0]["clear_opening_in"] == 60.0


@pytest.mark.parametrize(
    ("swap", "words"),
    [
        (Swap(line_id="B", system="chain_link_6ft"), "no line 'B' any more"),
        (Swap(line_id="A", gate_id="G9", opening_in=60.0), "no gate 'G9' any more"),
        (Swap(line_id="A", system="bamboo"), "bamboo"),
    ],
)
def test_one_that_can_t_be_worked_with_says_why_and_the_others_are_priced(
    swap: Swap, words: str
) -> None:
    lost = Alternate(key="c", name="Lost", swaps=(swap,))
    first, second = price_alternates(DOCUMENT, starter_catalog(), [lost, MESH])

    assert first.result is None
    assert words in first.problem
    assert second.result is not None


def test_typed_lines_count_in_alternates_too() -> None:
    stump = TypedLine(key="t1", description="Stump", unit_cost=Decimal(100))
    (plain,) = price_alternates(DOCUMENT, starter_catalog(), [MESH])
    (typed,) = price_alternates(DOCUMENT, starter_catalog(), [MESH], typed=[stump])
    assert plain.result is not None
    assert typed.result is not None

    assert typed.result.money.direct_cost == plain.result.money.direct_cost + 100
    # In both, so nothing of it is in the difference but a cent of rounding.
    assert abs(typed.price_change - plain.price_change) <= Decimal("0.01")


def test_figures_by_hand_hold_where_they_fit_and_a_price_never() -> None:
    by_hand = [
        Override(target="price", value=Decimal(9000), reason="agreed"),
        Override(target="unit_cost:concrete_80lb", value=Decimal(7), reason="new supplier"),
        Override(target="unit_cost:vinyl_rail_privacy", value=Decimal(30), reason="listed"),
        Override(target="hours:gates", value=Decimal(3), reason="heavy"),
    ]
    (mesh,) = price_alternates(DOCUMENT, starter_catalog(), [MESH], overrides=by_hand)
    assert mesh.result is not None

    # Both hang one walk gate at the same rate; no rail of vinyl is in chain link.
    assert [each.target for each in mesh.kept] == ["unit_cost:concrete_80lb", "hours:gates"]
    assert mesh.price_change == mesh.result.money.price - Decimal(9000)


def test_stops_that_the_estimate_has_itself_are_not_called_new() -> None:
    vast = Alternate(
        key="d", name="Vast gate", swaps=(Swap(line_id="A", gate_id="G1", opening_in=600.0),)
    )
    (plain,) = price_alternates(DOCUMENT, starter_catalog(), [WIDER])
    (found,) = price_alternates(DOCUMENT, starter_catalog(), [vast])

    assert plain.new_stops == ()
    # 200 in and an opening of 600 in end at 800 in, beyond the line's 720 in.
    assert found.new_stops or found.problem


def test_a_document_that_can_t_be_read_is_refused() -> None:
    with pytest.raises(EngineError):
        price_alternates({"lines": 1}, starter_catalog(), [MESH])
