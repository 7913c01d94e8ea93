"""Questions about sold ground: how it stands by the newest version, and what entries make of it."""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from estimating import mapping
from estimating.engine import as_marked as engine
from estimating.engine.as_marked import Entries, FoundLine, MovedPost
from estimating.engine.catalog import Catalog, Override, TypedLine
from estimating.engine.differences import Differences, differences
from estimating.engine.errors import EngineError
from estimating.engine.geometry import to_grid
from estimating.engine.layout import lay_out
from estimating.engine.result import EstimateResult, Finding
from estimating.engine.site import NoDigStrip, Site
from estimating.models import Estimate, GroundChange
from estimating.selectors.measurements import read_with
from estimating.selectors.sheet_parts import CREW_CODES
from estimating.selectors.stored_words import known_sentence
from firm.errors import Refusal
from firm.measure.said import Said

__all__ = ["Entries", "FoundLine", "MovedPost", "NoDigStrip"]

PostPlace = tuple[str, float]  # a line's id, and where the layout puts the post on it
PARTS = {"legs": "Leg", "no_dig": "Mark"}
PATH_END = re.compile(r"^lines\[\d+\](?:\.(legs|no_dig)\[(\d+)\])?.*?(\w+)$")
VALUES = {
    "clear_opening_in": "opening",
    "crossing_deg": "angle",
    "facility_width_in": "width",
    "length_in": "length",
    "station_in": "station",
}
# Where the engine can't say which entry it means.
NO_FIELD = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class SoldWork:
    """What an accepted estimate was priced with, frozen."""

    estimate: Estimate
    catalog: Catalog
    site: Site
    typed: tuple[TypedLine, ...]
    overrides: tuple[Override, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Ground:
    """The ground by its newest version, 0 as it was sold; `standing` are its moved posts.

    `standing` goes by where the layout would put a post, so that it outlives new numbers.
    """

    work: SoldWork
    version: int
    document: Mapping[str, Any]
    site: Site
    result: EstimateResult
    standing: Mapping[PostPlace, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class GroundPost:
    """A post in the form: where the layout puts it, and where it stands if elsewhere."""

    number: int
    kind: str
    laid_out_in: float
    stands_in: float | None
    is_movable: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class GroundLine:
    """A line in the form: its legs as sold and as they are, its marks and its posts."""

    line_id: str
    name: str
    system_name: str
    sold_legs_in: tuple[float, ...]
    legs_in: tuple[float, ...]
    turns_deg: tuple[float, ...]
    marks: tuple[NoDigStrip, ...]
    posts: tuple[GroundPost, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Found:
    """What entries make of the ground.

    `lost` are posts moved earlier that the new layout does not have; `concerns` is what the crew
    should know of the new layout and was not so before, gravest first.
    """

    document: Mapping[str, Any]
    site: Site
    result: EstimateResult
    standing: Mapping[PostPlace, float]
    lost: tuple[PostPlace, ...]
    differences: Differences
    concerns: tuple[Finding, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class GroundVersion:
    """One version in the list of sheets."""

    version: int
    made_at: dt.datetime | None
    made_by: str
    note: str
    is_void: bool


def ground_of(proposal_id: int) -> Ground | None:
    """Return the ground of an accepted proposal, or None for work without a layout to change."""
    estimate = (
        Estimate.objects.filter(proposals=proposal_id, proposals__acceptance__isnull=False)
        .prefetch_related("typed_lines", "overrides")
        .first()
    )
    if estimate is None or not estimate.document.get("lines"):
        return None
    newest = GroundChange.objects.filter(proposal=proposal_id).order_by("-version").first()
    document = newest.document if newest else estimate.document
    try:
        sold = read_with(estimate.document, estimate.catalog)
        site = read_with(document, estimate.catalog).site
        result = mapping.from_plain(EstimateResult, (newest or estimate).result)
    except (EngineError, TypeError):
        # Kept by a program that counted otherwise: nothing here can be worked out anew.
        return None
    return Ground(
        work=SoldWork(
            estimate=estimate,
            catalog=sold.catalog,
            site=sold.site,
            typed=tuple(mapping.typed_lines(estimate.typed_lines.all())),
            overrides=tuple(mapping.overrides(estimate.overrides.all())),
        ),
        version=newest.version if newest else 0,
        document=document,
        site=site,
        result=result,
        standing=_standing(newest.entries if newest else {}),
    )


def _standing(entries: Mapping[str, Any]) -> dict[PostPlace, float]:
    return {
        (each["line_id"], each["laid_out_in"]): each["station_in"]
        for each in entries.get("standing", ())
    }


def work_out_entries(ground: Ground, entries: Entries) -> Found:
    """Return the ground with the entries; posts are named by their numbers in the new layout.

    Raises:
        Refusal: an entry can't be; its field is `line:A` or `post:7`.
    """
    try:
        document = engine.found_document(ground.document, ground.site, entries.lines)
        site = read_with(document, ground.work.estimate.catalog).site
        standing, moved, lost = _moves(ground, site, entries.moved)
        result = engine.as_marked(
            site,
            ground.work.catalog,
            moved=moved,
            typed=ground.work.typed,
            overrides=ground.work.overrides,
        )
        engine.refuse_lost_gates(ground.result, result)
    except EngineError as error:
        raise Refusal(_words_of(error), field=_field_of(error, ground)) from error
    return Found(
        document=document,
        site=site,
        result=result,
        standing=standing,
        lost=lost,
        differences=differences(ground.result, result),
        concerns=tuple(
            each
            for each in result.findings
            if each.code in CREW_CODES and each not in ground.result.findings
        ),
    )


def _moves(
    ground: Ground, site: Site, entered: Sequence[MovedPost]
) -> tuple[dict[PostPlace, float], list[MovedPost], tuple[PostPlace, ...]]:
    """Return all moves that stand, by place and by number, and those without a post now."""
    laid_out = {
        (post.line_id, post.station_in): post.number
        for line in lay_out(site, ground.work.catalog).lines
        for post in line.posts
    }
    place_of = {number: place for place, number in laid_out.items()}
    lost = tuple(place for place in ground.standing if place not in laid_out)
    standing = {place: at for place, at in ground.standing.items() if place in laid_out}
    for move in entered:
        if move.number not in place_of:
            raise engine.no_post(move.number)
        standing[place_of[move.number]] = to_grid(move.station_in)
    standing = {place: at for place, at in standing.items() if at != place[1]}
    moved = [
        MovedPost(number=laid_out[place], station_in=at) for place, at in sorted(standing.items())
    ]
    return standing, moved, lost


def _field_of(error: EngineError, ground: Ground) -> str:
    """Return the entry a refusal means; the reader names lines by their place."""
    if error.field.startswith(("line:", "post:")):
        return error.field
    for index, line in enumerate(ground.site.lines):
        if error.field.startswith(f"lines[{index}]"):
            return f"line:{line.id}"
    return NO_FIELD


def _words_of(error: EngineError) -> str:
    """Return a refusal without the path of its value, which says nothing to a crew."""
    words = str(error)
    path = PATH_END.search(error.field)
    if path is None or not words.startswith(error.field):
        return words if isinstance(words, Said) else known_sentence(words)
    part, place, value = path.groups()
    said = f"the {VALUES.get(value, value)}{words.removeprefix(error.field)}"
    if not part:
        return known_sentence(said[0].upper() + said[1:])
    return f"{PARTS[part]} {int(place) + 1}: {said}"


def ground_lines(ground: Ground, found: Found | None = None) -> list[GroundLine]:
    """Return the lines as the form shows them, by the newest version or as worked out."""
    site = found.site if found else ground.site
    standing = found.standing if found else ground.standing
    movable = engine.movable_posts(site, ground.work.catalog)
    sold = {line.id: line for line in ground.work.site.lines}
    return [
        GroundLine(
            line_id=line.id,
            name=line.name,
            system_name=ground.work.catalog.systems[line.system].name,
            sold_legs_in=tuple(leg.length_in for leg in sold[line.id].legs),
            legs_in=tuple(leg.length_in for leg in line.legs),
            turns_deg=tuple(leg.turn_deg for leg in line.legs),
            marks=line.no_dig,
            posts=tuple(
                GroundPost(
                    number=post.number,
                    kind=post.kind,
                    laid_out_in=post.station_in,
                    stands_in=standing.get((line.id, post.station_in)),
                    is_movable=post.number in movable,
                )
                for post in layout.posts
            ),
        )
        for line, layout in zip(site.lines, lay_out(site, ground.work.catalog).lines, strict=True)
    ]


def ground_versions(proposal_id: int) -> list[GroundVersion]:
    """Return the versions of the sheet, newest first; all but that one are void."""
    rows = list(
        GroundChange.objects.filter(proposal=proposal_id)
        .defer("document", "result", "entries")
        .select_related("made_by")
        .order_by("-version")
    )
    made = [
        GroundVersion(
            version=row.version,
            made_at=row.made_at,
            made_by=(row.made_by.get_full_name() or row.made_by.username) if row.made_by else "",
            note=row.note,
            is_void=place > 0,
        )
        for place, row in enumerate(rows)
    ]
    sold = GroundVersion(version=0, made_at=None, made_by="", note="", is_void=bool(rows))
    return [*made, sold]


@dataclass(frozen=True, kw_only=True, slots=True)
class BuildUp:
    """How much more the ground costs than what was sold, by the sold catalog and no set price."""

    sold_price: Decimal
    price: Decimal
    price_before_tax: Decimal
    sales_tax: Decimal
    direct_cost: Decimal
    labor_hours: Decimal
    crew_days: Decimal


def build_up(ground: Ground, found: Found) -> BuildUp:
    """Return the difference of two whole estimates: of the ground as found, and as sold.

    A price set by hand is left out of both; all other figures set by hand count in both.
    """
    work = ground.work
    kept = [each for each in work.overrides if each.target != "price"]
    _, moved, _ = _moves(replace(ground, standing=found.standing), found.site, ())
    sold, new = (
        engine.as_marked(site, work.catalog, moved=moves, typed=work.typed, overrides=kept)
        for site, moves in ((work.site, []), (found.site, moved))
    )
    return BuildUp(
        sold_price=sold.money.price_before_tax,
        price=new.money.price_before_tax,
        price_before_tax=new.money.price_before_tax - sold.money.price_before_tax,
        sales_tax=new.money.sales_tax - sold.money.sales_tax,
        direct_cost=new.money.direct_cost - sold.money.direct_cost,
        labor_hours=Decimal(str(new.total_hours)) - Decimal(str(sold.total_hours)),
        crew_days=new.money.crew_days - sold.money.crew_days,
    )
