"""The starter set a new installation begins with: fence systems, prices, rates and rules."""

import json
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent / "data"
SYSTEM_FILES = "systems*.toml"
GATES_FILE = "gates.toml"
RISKS_FILE = "risks.toml"
FILES = {
    "prices": "prices.toml",
    "rates": "rates.toml",
    "rules": "rules.toml",
}


def load_starter_data() -> dict[str, Any]:
    """Return the starter set as the engine's reader takes it, fresh at each call."""
    return {
        "fence_systems": _systems(),
        **{key: _read(DATA / name) for key, name in FILES.items()},
    }


def load_frost_data() -> dict[str, Any]:
    """Return the soils and surfaces for an estimate of frost depth."""
    return _read(DATA / "frost.toml")


def load_starter_risks() -> dict[str, Any]:
    """Return what a new firm is not sure of, by key; an estimate is not priced with it."""
    return _read(DATA / RISKS_FILE)


def _systems() -> dict[str, Any]:
    """Return every system; one that names another under `like` is that one with its changes."""
    raw: dict[str, Any] = {}
    for path in sorted(DATA.glob(SYSTEM_FILES)):
        raw.update(_read(path))
    gates = _read(DATA / GATES_FILE)
    return {key: _with_slide_gate(_whole(key, raw), gates) for key in raw}


def _with_slide_gate(system: dict[str, Any], gates: Mapping[str, Any]) -> dict[str, Any]:
    """Return a system with the slide gate that all of them share."""
    return {
        **system,
        "gate": {"slide": gates["slide"], **system["gate"]},
        "materials": [*system["materials"], *gates["materials"]],
    }


def _whole(key: str, raw: Mapping[str, Any]) -> dict[str, Any]:
    own = dict(raw[key])
    if "like" not in own:
        return own
    # Slats in a mesh or fewer rails change what wind meets: each system says that for itself.
    base = {name: value for name, value in _whole(own.pop("like"), raw).items() if name != "wind"}
    without, more = own.pop("without", []), own.pop("more_materials", [])
    materials = own.pop("materials", base["materials"])
    kept = [each for each in materials if each["item"] not in without]
    return {**base, **own, "materials": [*kept, *more]}


def _read(path: Path) -> dict[str, Any]:
    """Return what a file holds, fresh at each call."""
    data: dict[str, Any] = json.loads(_as_json(path))
    return data


@cache
def _as_json(path: Path) -> str:
    # JSON is read in a twentieth of the time.
    return json.dumps(tomllib.loads(path.read_text(encoding="utf-8")))
