"""Lines typed into an estimate, and figures set by hand; each change prices it again."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Max

from estimating.models import Estimate, EstimateLine, EstimateOverride
from estimating.services.estimates import open_estimate, work_out_again
from firm.errors import Refusal
from firm.models import User
from firm.services.audit import record, snapshot

LINE_FIELDS = (
    "description",
    "quantity",
    "unit",
    "unit_cost",
    "price",
    "labor_hours",
    "is_optional",
)


@transaction.atomic
def save_line(
    *,
    estimate: Estimate,
    values: dict[str, Any],
    actor: User | None,
    now: dt.datetime,
    line: EstimateLine | None = None,
) -> EstimateLine:
    """Add a typed line, or change `line`, and price the estimate again.

    Raises:
        Refusal: the estimate is not open, or can't be priced with this line.
    """
    row = open_estimate(estimate)
    before = snapshot(line, LINE_FIELDS) if line else {}
    if line is None:
        last = row.typed_lines.aggregate(last=Max("position"))["last"]
        line = EstimateLine(estimate=row, position=0 if last is None else last + 1)
    for name in LINE_FIELDS:
        setattr(line, name, values[name])
    line.save()
    work_out_again(row, now=now)
    record(
        actor=actor,
        action="changed a typed line" if before else "added a typed line",
        target=row,
        before=before,
        after=snapshot(line, LINE_FIELDS),
        at=now,
    )
    return line


@transaction.atomic
def delete_line(*, line: EstimateLine, actor: User | None, now: dt.datetime) -> None:
    """Take a typed line out, and price the estimate again.

    Raises:
        Refusal: the estimate is not open.
    """
    row = open_estimate(line.estimate)
    is_last = not row.document.get("lines") and row.typed_lines.count() == 1
    if is_last:
        raise Refusal("An estimate without a layout keeps one line at least.")
    before = snapshot(line, LINE_FIELDS)
    line.delete()
    work_out_again(row, now=now)
    record(actor=actor, action="took out a typed line", target=row, before=before, at=now)


@transaction.atomic
def set_by_hand(
    *,
    estimate: Estimate,
    target: str,
    value: Decimal,
    reason: str,
    actor: User | None,
    now: dt.datetime,
) -> EstimateOverride:
    """Set one figure by hand, with the reason, and price the estimate again.

    Raises:
        Refusal: the estimate is not open, or the engine will not take the figure.
    """
    row = open_estimate(estimate)
    old = row.overrides.filter(target=target).first()
    override, _ = EstimateOverride.objects.update_or_create(
        estimate=row,
        target=target,
        defaults={"value": value, "reason": reason, "set_by": actor, "set_at": now},
    )
    work_out_again(row, now=now)
    record(
        actor=actor,
        action="set a figure by hand",
        target=row,
        before={old.target: old.value, "reason": old.reason} if old else {},
        after={target: value, "reason": reason},
        at=now,
    )
    return override


@transaction.atomic
def let_engine_decide(*, override: EstimateOverride, actor: User | None, now: dt.datetime) -> None:
    """Drop a figure set by hand, so that the engine's own one counts again.

    Raises:
        Refusal: the estimate is not open.
    """
    row = open_estimate(override.estimate)
    before = {override.target: override.value, "reason": override.reason}
    override.delete()
    work_out_again(row, now=now)
    record(actor=actor, action="dropped a figure set by hand", target=row, before=before, at=now)
