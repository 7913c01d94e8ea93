"""How the posts of an estimate stand against wind, and what would pass: for the office only.

Worked out on every page from the estimate's own catalog; nothing of it is stored, so that nothing
of it can reach a proposal.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import groupby
from typing import Any

from estimating import mapping
from estimating.engine.embedment import CLASS_WORDS, DEEPEST_FT, LATERAL_PSF_PER_FT
from estimating.engine.errors import EngineError
from estimating.engine.footing_check import FootingChecks, PostCheck, check_footings
from estimating.engine.footing_variants import Variant, what_would_pass
from estimating.engine.result import EstimateResult
from estimating.engine.site import Conditions
from estimating.models import Estimate
from estimating.selectors.measurements import ReadDocument, read_with
from estimating.starter import load_starter_data
from firm.errors import Refusal
from firm.measure import loads
from firm.measure.units import IN_PER_FT
from firm.measure.written import METRIC
from firm.selectors.profile import firm_units

# Some thirty layouts are tried: 100 posts take about 0.3 s, and the time grows as they do.
MOST_POSTS = 500


@dataclass(frozen=True, kw_only=True, slots=True)
class CheckRow:
    """Posts that stand alike, judged once."""

    numbers: str
    posts: int
    line_name: str
    check: PostCheck


@dataclass(frozen=True, kw_only=True, slots=True)
class FootingAdvice:
    """What the estimate's page shows of the checks."""

    checks: FootingChecks
    conditions: Conditions
    wind_is_from_site: bool
    soil: str
    rows: list[CheckRow]

    @property
    def deepest_in(self) -> float:
        """How deep the pole formula is good for."""
        return DEEPEST_FT * IN_PER_FT

    @property
    def passes(self) -> int:
        return self.checks.count("passes")

    @property
    def short(self) -> int:
        return self.checks.count("short")

    @property
    def outside(self) -> int:
        return self.checks.count("outside")

    @property
    def worst_short_in(self) -> float:
        return max((each.short_in for each in self.checks.posts), default=0.0)

    @property
    def unrated(self) -> int:
        """How many judged posts nobody has rated in bending."""
        return sum(each.bending == "unrated" and bool(each.rule) for each in self.checks.posts)

    @property
    def has_variants(self) -> bool:
        """Whether there is anything for which to ask what would pass."""
        return any(
            each.verdict == "short" or (each.rule and each.needed_in is None)
            for each in self.checks.posts
        )


def footing_advice(estimate: Estimate, result: EstimateResult) -> FootingAdvice | None:
    """Return the checks of an estimate's posts; None where it has no posts to judge."""
    if not result.holes:
        return None
    try:
        read, wind_is_from_site = _read(estimate)
    except EngineError:
        return None
    conditions = read.site.conditions
    checks = check_footings(result.lines, result.holes, read.catalog, conditions)
    names = {line.line_id: line.name for line in result.lines}
    return FootingAdvice(
        checks=checks,
        conditions=conditions,
        wind_is_from_site=wind_is_from_site,
        soil=_soil_words(read.catalog.rules.soil_bearing.get(conditions.soil_class)),
        rows=list(_rows(checks, names)),
    )


def passing_variants(estimate: Estimate) -> tuple[Variant, ...]:
    """Return what would pass, each re-estimated with the estimate's own prices and typed lines.

    Raises:
        EngineError: the document can't be worked with any more.
        Refusal: there are so many posts that the page would keep its reader waiting.
    """
    posts = len(estimate.result.get("holes", ()))
    if posts > MOST_POSTS:
        raise Refusal(
            f"This site has {posts:,} posts, and {MOST_POSTS} can be compared at once. "
            "Price a part of it as a site of its own."
        )
    read, _ = _read(estimate)
    typed = mapping.typed_lines(estimate.typed_lines.all())
    return what_would_pass(read.site, read.catalog, typed=typed)


def _read(estimate: Estimate) -> tuple[ReadDocument, bool]:
    """Read the estimate's document; wind that it does not name is the site's own."""
    read = read_with(estimate.document, _with_wind_figures(estimate.catalog), leave_out=True)
    conditions, place = read.site.conditions, estimate.site
    if conditions.wind_speed_mph or place is None or not place.wind_speed_mph:
        return read, False
    conditions = replace(
        conditions, wind_speed_mph=place.wind_speed_mph, exposure=_exposure(place.exposure)
    )
    return replace(read, site=replace(read.site, conditions=conditions)), True


def _exposure(letter: str) -> Any:
    return letter if letter in ("B", "C", "D") else "B"


def _with_wind_figures(catalog: dict[str, Any]) -> dict[str, Any]:
    """Return catalog data with the starter's wind figures where it was frozen without any."""
    wind, soil_bearing = _starter_wind()
    systems = {
        key: {"wind": wind[key], **system} if key in wind else system
        for key, system in catalog.get("fence_systems", {}).items()
    }
    rules = {"soil_bearing": soil_bearing, **catalog.get("rules", {})}
    return {**catalog, "fence_systems": systems, "rules": rules}


@cache
def _starter_wind() -> tuple[dict[str, Any], dict[str, str]]:
    data = load_starter_data()
    wind = {key: each["wind"] for key, each in data["fence_systems"].items() if "wind" in each}
    return wind, data["rules"].get("soil_bearing", {})


def _soil_words(bearing: str | None) -> str:
    if bearing is None:
        return ""
    units = firm_units()
    depth = "metre" if units == METRIC else "foot"
    pressure = loads.PRESSURE_OF_DEPTH.written(LATERAL_PSF_PER_FT[bearing], units)
    return f"{CLASS_WORDS[bearing]}, {pressure} for each {depth} of depth"


def _rows(checks: FootingChecks, names: dict[str, str]) -> Iterator[CheckRow]:
    for _, group in groupby(checks.posts, key=_likeness):
        alike = list(group)
        first, last = alike[0].post_number, alike[-1].post_number
        yield CheckRow(
            numbers=str(first) if first == last else f"{first} to {last}",
            posts=len(alike),
            line_name=names.get(alike[0].line_id, alike[0].line_id),
            check=alike[0],
        )


def _likeness(check: PostCheck) -> tuple[object, ...]:
    """Return what two neighbours must share to stand in one row: all but a pound or an inch."""
    needed_in = check.needed_whole_in
    return (
        check.line_id,
        check.kind,
        check.verdict,
        check.rule,
        round(check.force_lb, -1),
        round(check.moment_lb_ft, -2),
        check.depth_in,
        needed_in,
    )
