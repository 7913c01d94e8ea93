"""Findings of the layout: rules that the measured site or its layout breaks or comes near."""

from collections.abc import Sequence

from estimating.engine.frames import Frame, PostPlace
from estimating.engine.result import Finding, LineLayout
from estimating.engine.site import Site


def find(
    site: Site,
    frames: Sequence[Frame],
    lines: Sequence[LineLayout],
    owners: dict[PostPlace, PostPlace],
) -> tuple[Finding, ...]:
    """Return every finding of the layout, the gravest first."""
    return tuple(finding for frame in frames for finding in frame.findings)
