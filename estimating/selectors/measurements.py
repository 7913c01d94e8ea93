"""Questions about measured sites: the newest version, and what the engine makes of a document."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from estimating import mapping
from estimating.engine.catalog import Catalog, Override, TypedLine
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate
from estimating.engine.reading import (
    check_items,
    check_overrides,
    check_systems,
    merge_catalog_data,
    read_catalog,
    read_overrides,
    read_site,
    read_typed_lines,
)
from estimating.engine.reading_catalog import no_system_words
from estimating.engine.result import EstimateResult
from estimating.engine.site import Site
from estimating.models import SiteMeasurement
from firm.models import JobSite

CATALOG_KEYS = ("fence_systems", "prices", "rates", "rules")
SYSTEMS = "fence_systems."


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadDocument:
    """A document as the engine takes it, and the catalog data it is built and priced with."""

    site: Site
    catalog: Catalog
    catalog_data: dict[str, Any]


def latest_measurement(site: JobSite) -> SiteMeasurement | None:
    """Return the newest version of the site's document."""
    return (
        SiteMeasurement.objects.filter(site=site)
        .select_related("saved_by")
        .order_by("-version")
        .first()
    )


def measurements_of(site: JobSite) -> list[SiteMeasurement]:
    """Return all versions, newest first."""
    return list(
        SiteMeasurement.objects.filter(site=site).select_related("saved_by").order_by("-version")
    )


def conditions_of(site: JobSite) -> dict[str, Any]:
    """Return what the site and its jurisdiction say, as a new document begins with it."""
    conditions: dict[str, Any] = {
        "soil_class": site.soil,
        "dig_method": site.dig_method,
        "spoil": site.spoil,
        "long_barrow": site.long_barrow,
        "access_width_in": site.access_width_in or None,
        "pool_barrier": site.pool_barrier,
        "wind_speed_mph": site.wind_speed_mph,
        "exposure": site.exposure,
        "hand_dig_tolerance_in": 24.0,
        "trips": 0,
    }
    place = site.jurisdiction
    if place is None:
        return conditions
    return conditions | {
        "frost_depth_in": place.frost_depth_in,
        "local_hole_depth_in": place.hole_depth_in,
        "hand_dig_tolerance_in": place.hand_dig_tolerance_in,
        "height_limit_front_in": place.height_limit_front_in,
        "height_limit_side_in": place.height_limit_side_in,
        "height_limit_rear_in": place.height_limit_rear_in,
        "setback_in": place.setback_in,
        "pool_height_in": place.pool_height_in,
        "pool_gap_in": place.pool_gap_in,
        "sight_leg_in": place.sight_leg_in,
        "sight_low_in": place.sight_low_in,
        "sight_high_in": place.sight_high_in,
        "permit_fee": place.permit_fee if place.permit_required else 0,
    }


def read_document(
    document: dict[str, Any],
    *,
    today: dt.date,
    may_lack_layout: bool = False,
    leave_out: bool = False,
) -> ReadDocument:
    """Read a document with the firm's catalog, under what the document brings of its own.

    With `leave_out` a line that can't be worked with is a finding and the others stand; without,
    it is refused, so that it is mended before it is kept.

    Raises:
        EngineError: the document can't be worked with; the error names the field.
    """
    data = merge_catalog_data(mapping.firm_catalog_data(today=today), document)
    # They become rows when the site is priced; a file's mistakes in them are named at once.
    read_typed_lines(document)
    read_overrides(document)
    return read_with(document, data, may_lack_layout=may_lack_layout, leave_out=leave_out)


def read_to_keep(document: dict[str, Any], *, today: dt.date) -> ReadDocument:
    """Read a document before it is kept: what its lines say has to be right.

    A fence system of the document's own that can't be used, or an item without a price, is a
    finding: its lines are left out, and the rest of the site stands.

    Raises:
        EngineError: the document can't be worked with; the error names the field.
    """
    try:
        return read_document(document, today=today)
    except EngineError as error:
        own = document.get("fence_systems") or {}
        if not error.field.startswith(SYSTEMS) or not all(
            isinstance(each, dict) for each in own.values()
        ):
            raise
    read = read_document(document, today=today, leave_out=True)
    named = [line.system for line in read_site(document).lines]
    known = {**read.catalog.systems, **read.catalog.unusable}
    for i, key in enumerate(named):
        if key not in known:
            raise EngineError(no_system_words(read.catalog, key), field=f"lines[{i}].system")
    return read


def read_file(document: dict[str, Any], *, today: dt.date) -> ReadDocument:
    """Read a document that is handed in: a figure set by hand needs its item.

    Later an item may go out of use; then the page finds a figure that nothing uses, no mistake.

    Raises:
        EngineError: the document can't be worked with; the error names the field.
    """
    read = read_to_keep(document, today=today)
    check_overrides(read.catalog, read_overrides(document))
    return read


def read_with(
    document: dict[str, Any],
    catalog_data: dict[str, Any],
    *,
    may_lack_layout: bool = False,
    leave_out: bool = False,
) -> ReadDocument:
    """Read a document with catalog data that is already complete, such as an estimate's own."""
    catalog = read_catalog(catalog_data, leave_out=leave_out)
    has_no_layout = may_lack_layout and not document.get("lines")
    site = _no_layout(document) if has_no_layout else read_site(document, leave_out=leave_out)
    if not leave_out:
        check_systems(catalog, [line.system for line in site.lines])
        check_items(catalog, {line.system for line in site.lines})
    return ReadDocument(site=site, catalog=catalog, catalog_data=catalog_data)


def _no_layout(document: dict[str, Any]) -> Site:
    """Return the site of a repair: a name, and nothing to lay out."""
    return Site(name=str(document.get("name", "")), lines=())


def work_out(
    read: ReadDocument,
    *,
    typed: list[TypedLine] | None = None,
    overrides: list[Override] | None = None,
) -> EstimateResult:
    """Run the engine.

    Raises:
        EngineError: a figure can't be worked with; the error names the field.
    """
    return estimate(read.site, read.catalog, typed=typed or (), overrides=overrides or ())
