"""Pool barriers against published rules: a federal checklist, municipal codes, ISPSC 305.

Numbers [S]: at least 48 in (60 in some places), at most 2 in over soil, no 4 in sphere, rails
with tops under 45 in apart on the pool's side with gaps of at most 1-3/4 in, mesh at most 1-1/4 in,
a release under 54 in on the pool's side, 3 in below the top, no opening over 1/2 in near it.
Section numbers of ISPSC 305 are from memory.
"""

from typing import Any

import pytest

from estimating.engine.pool import Barrier, PoolRules, breaches, latch_breaches
from tests.starter_cases import starter_catalog

CHECKLIST = "a federal safety checklist for pool barriers and municipal codes; ISPSC 305"
RULES = PoolRules()


def broken(rules: PoolRules = RULES, **changes: Any) -> list[str]:
    """Return the codes that a fence of 48 in with pickets breaks."""
    fields: dict[str, Any] = {
        "infill": "pickets",
        "opening_in": 3.75,
        "rails_apart_in": 46.0,
        "rails_show": "both",
        "height_in": 48.0,
        "gap_in": 2.0,
        "rails_on_pool_side": False,
    } | changes
    judged = {name: fields.pop(name) for name in ("height_in", "gap_in", "rails_on_pool_side")}
    return [code for code, *_ in breaches(Barrier(**fields), rules, **judged)]


@pytest.mark.source("C", f"worked from {CHECKLIST}")
@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        # 48 in, 2 in gap, 3.75 clear, rails 46 apart passes.
        ({}, []),
        ({"rails_apart_in": 44.0}, ["pool-rails"]),
        ({"rails_apart_in": 44.0, "rails_on_pool_side": True, "opening_in": 1.75}, []),
        # On the pool's side, and yet too wide between the pickets.
        ({"rails_apart_in": 44.0, "rails_on_pool_side": True}, ["pool-picket-gap"]),
    ],
)
def test_worked_fences(changes: dict[str, Any], codes: list[str]) -> None:
    assert broken(**changes) == codes


@pytest.mark.source("S", CHECKLIST)
@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({"height_in": 47.9375}, ["pool-height"]),
        ({"gap_in": 2.0625}, ["pool-bottom-gap"]),
        ({"opening_in": 4.0}, ["pool-opening"]),
        ({"rails_apart_in": 45.0}, []),
        ({"infill": "mesh", "opening_in": 1.25, "rails_show": "none"}, []),
        ({"infill": "mesh", "opening_in": 1.75, "rails_show": "none"}, ["pool-mesh"]),
    ],
)
def test_limit_of_each_rule(changes: dict[str, Any], codes: list[str]) -> None:
    assert broken(**changes) == codes


@pytest.mark.source("S", "cities of California: 60 in")
def test_sixty_inches_in_some_places() -> None:
    assert broken(PoolRules(height_in=60), height_in=59) == ["pool-height"]
    assert broken(PoolRules(height_in=60), height_in=60) == []


@pytest.mark.source("S", "CPSC publication 362: mesh of 1-1/4 in, of 1-3/4 in only with slats")
@pytest.mark.parametrize(
    ("opening_in", "codes"), [(1.25, []), (1.3125, ["pool-mesh"]), (1.75, ["pool-mesh"])]
)
def test_mesh_by_the_checklist_s_own_figure(opening_in: float, codes: list[str]) -> None:
    mesh: dict[str, Any] = {"infill": "mesh", "opening_in": opening_in, "rails_show": "none"}
    assert broken(**mesh) == codes
    # A town that follows a wider edition says so.
    assert broken(PoolRules(mesh_in=1.75), **mesh) == []


@pytest.mark.source("S", "one municipal code: 4 in under the barrier")
def test_four_inches_under_in_one_code() -> None:
    assert broken(PoolRules(gap_in=4), gap_in=4) == []


@pytest.mark.source("M", "from memory: ISPSC 305.2.7, mesh of 2-1/4 in unless slatted to 1-3/4")
def test_wider_mesh_in_one_edition() -> None:
    mesh: dict[str, Any] = {"infill": "mesh", "opening_in": 2.25, "rails_show": "none"}
    assert broken(PoolRules(mesh_in=2.25), **mesh) == []


@pytest.mark.source("S", "a county's pool barrier page: latch and release")
@pytest.mark.parametrize(
    ("latch_in", "pool_side", "opening_in", "codes"),
    [
        pytest.param(
            53.0, False, 0.0, ["pool-latch-height"], marks=pytest.mark.source("C", CHECKLIST)
        ),
        (54.0, False, 0.0, []),
        # A gate of 50 in: 47 in is 3 in below the top, 48 only 2.
        (47.0, True, 0.0, []),
        (48.0, True, 0.0, ["pool-latch-height"]),
        (47.0, True, 0.5, []),
        (47.0, True, 0.75, ["pool-latch-opening"]),
    ],
)
def test_latch_against_the_rules(
    latch_in: float, pool_side: bool, opening_in: float, codes: list[str]
) -> None:
    found = latch_breaches(
        Barrier(infill="boards", opening_in=opening_in),
        RULES,
        top_in=50.0,
        latch_in=latch_in,
        latch_on_pool_side=pool_side,
    )

    assert [code for code, *_ in found] == codes


@pytest.mark.source("S", CHECKLIST)
@pytest.mark.parametrize(
    ("name", "figure"),
    [
        ("height_in", 48),
        ("gap_in", 2),
        ("sphere_in", 4),
        ("rails_apart_in", 45),
        ("picket_gap_in", 1.75),
        ("mesh_in", 1.25),
        ("latch_in", 54),
        ("latch_below_top_in", 3),
        ("latch_opening_in", 0.5),
    ],
)
def test_starter_s_rule_set_has_the_figures_seen_most(name: str, figure: float) -> None:
    assert getattr(starter_catalog().rules.pool, name) == figure
