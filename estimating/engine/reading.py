"""From plain data to the engine's objects: the ways in, gathered in one place."""

from estimating.engine.reading_catalog import (
    check_items,
    check_overrides,
    check_systems,
    merge_catalog_data,
    read_catalog,
    read_overrides,
    read_typed_lines,
)
from estimating.engine.reading_site import read_site

__all__ = [
    "check_items",
    "check_overrides",
    "check_systems",
    "merge_catalog_data",
    "read_catalog",
    "read_overrides",
    "read_site",
    "read_typed_lines",
]
