"""Writes how far a figure moved, draws a cost against its estimate, and a job's line of margin."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import template
from django.http import HttpRequest
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from firm.measure.money import format_money
from scheduling.engine.margin import KindMargin, PhaseMargin
from scheduling.engine.margin_facts import Triple
from scheduling.models import FenceJob
from scheduling.selectors.margin import job_margin

register = template.Library()
WIDTH = 200
AS_PLANNED_HEIGHT, OVER_HEIGHT, POST_HEIGHT = 8, 16, 24


@register.filter
def moved(value: Decimal) -> str:
    """Write a difference with its sign: +$548.25, -$12.00; or none."""
    if not value:
        return "none"
    return f"+{format_money(value)}" if value > 0 else format_money(value)


@register.filter
def widest(rows: Iterable[PhaseMargin | KindMargin]) -> Decimal:
    """Return the largest cost of some rows, to draw them all to one scale."""
    return max(
        (max(row.cost.estimated, row.cost.forecast) for row in rows),
        default=Decimal(0),
    )


@register.simple_tag
def rail(cost: Triple, name: str, scale: Decimal) -> SafeString:
    """Draw the forecast as a rail and the estimate as a post on it; what lies beyond is thicker."""
    forecast, estimated = _length(cost.forecast, scale), _length(cost.estimated, scale)
    planned = min(forecast, estimated)
    said = f"{name}: {format_money(cost.forecast)}, estimated {format_money(cost.estimated)}"
    return format_html(
        '<svg class="rail" viewBox="0 0 {} {}" role="img" aria-label="{}">'
        '<rect class="rail-ground" x="0" y="{}" width="{}" height="1"></rect>'
        '<rect class="rail-planned" x="0" y="{}" width="{}" height="{}"></rect>'
        '<rect class="rail-over" x="{}" y="{}" width="{}" height="{}"></rect>'
        '<rect class="rail-post" x="{}" y="0" width="3" height="{}"></rect></svg>',
        WIDTH + 4,
        POST_HEIGHT,
        said,
        POST_HEIGHT - 1,
        WIDTH + 4,
        (POST_HEIGHT - AS_PLANNED_HEIGHT) // 2,
        planned,
        AS_PLANNED_HEIGHT,
        planned,
        (POST_HEIGHT - OVER_HEIGHT) // 2,
        forecast - planned,
        OVER_HEIGHT,
        estimated,
        POST_HEIGHT,
    )


def _length(amount: Decimal, scale: Decimal) -> int:
    return int(max(amount, Decimal(0)) * WIDTH / scale) if scale > 0 else 0


@register.inclusion_tag("scheduling/_job_margin.html", takes_context=True)
def margin_line(context: template.Context, job: FenceJob) -> dict[str, Any]:
    """Show what a job leaves to the owner alone; to others only the way to its costs."""
    request = context.get("request")
    is_owner = isinstance(request, HttpRequest) and getattr(request.user, "is_owner", False)
    now = job_margin(job.pk, now=timezone.now()) if is_owner else None
    return {"job": job, "margin_now": now}
