"""Findings on lines that can't be worked with at all; the rest of the site stands without them."""

from collections.abc import Iterator

from estimating.engine.catalog import Catalog
from estimating.engine.reading_catalog import no_system_words
from estimating.engine.result import Finding
from estimating.engine.site import FenceLine, LeftOut, Site


def left_out_findings(site: Site, catalog: Catalog) -> Iterator[Finding]:
    """Yield a finding for each line without posts, material and price, and what would mend it."""
    for each in site.left_out:
        yield _unreadable(each)
    for line in site.lines:
        if line.system not in catalog.systems:
            yield _without_system(line, catalog)


def _unreadable(line: LeftOut) -> Finding:
    return Finding(
        code="line-not-read",
        severity="stop",
        message=f"Line {line.line_id} is left out, with its posts and its price: {line.reason}",
        place=f"line {line.line_id}",
        figure=line.field,
        action="Correct this figure of the measured site; the other lines are worked out.",
    )


def _without_system(line: FenceLine, catalog: Catalog) -> Finding:
    reason = catalog.unusable.get(line.system)
    if reason is None:
        why = no_system_words(catalog, line.system)
        action = "Choose a fence system that is in use, or bring this one back into use."
    else:
        why = f"its fence system can't be used: {reason}"
        action = "Correct the fence system, or choose another one for the line."
    return Finding(
        code="line-without-system",
        severity="stop",
        message=f"Line {line.id} is left out, with its posts and its price: {why}",
        place=f"line {line.id}",
        figure=f"fence system '{line.system[:60]}'",
        limit="a fence system with spacing, posts and material",
        action=action,
    )
