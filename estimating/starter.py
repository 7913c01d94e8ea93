"""The starter set a new installation begins with: fence systems, prices, rates and rules."""

import tomllib
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent / "data"
FILES = {
    "fence_systems": "systems.toml",
    "prices": "prices.toml",
    "rates": "rates.toml",
    "rules": "rules.toml",
}


def load_starter_data() -> dict[str, Any]:
    """Return the starter set as the engine's reader takes it, fresh at each call."""
    return {
        key: tomllib.loads((DATA / name).read_text(encoding="utf-8")) for key, name in FILES.items()
    }
