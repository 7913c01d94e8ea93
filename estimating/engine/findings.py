"""Findings of the layout: rules that the measured site or its layout breaks or comes near."""

from collections.abc import Iterator, Sequence

from estimating.engine.frames import Frame, PostPlace
from estimating.engine.gate_findings import gate_findings
from estimating.engine.ground_findings import ground_findings
from estimating.engine.mark_findings import fixed_point_findings, mark_findings
from estimating.engine.no_plan_findings import no_plan_findings
from estimating.engine.plan_findings import plan_findings, site_findings
from estimating.engine.post_findings import post_findings
from estimating.engine.result import Finding, LineLayout
from estimating.engine.site import Site

GRAVEST_FIRST = ("stop", "warn", "note")


def find(
    site: Site,
    frames: Sequence[Frame],
    lines: Sequence[LineLayout],
    owners: dict[PostPlace, PostPlace],
) -> tuple[Finding, ...]:
    """Return every finding of the layout, the gravest first."""
    found = [*_by_line(site, frames, lines), *site_findings(site, frames, lines, owners)]
    return tuple(sorted(found, key=lambda each: GRAVEST_FIRST.index(each.severity)))


def _by_line(site: Site, frames: Sequence[Frame], lines: Sequence[LineLayout]) -> Iterator[Finding]:
    for frame, layout in zip(frames, lines, strict=True):
        if not frame.has_posts:
            continue
        yield from frame.findings
        yield from plan_findings(site.conditions, frame)
        yield from ground_findings(site.conditions, frame, layout)
        yield from mark_findings(site.conditions, frame, layout)
        yield from fixed_point_findings(frame, layout)
        yield from no_plan_findings(frame)
        yield from post_findings(frame, layout)
        yield from gate_findings(site.conditions, frame, layout)
