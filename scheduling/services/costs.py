"""Writing down what a job cost beside its hours; a slip is corrected, and the record keeps it."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from firm.errors import Refusal
from firm.models import User
from firm.services.saving import add_row, change_row, locked, refuse_repeated
from scheduling.models import FenceJob, JobCost

SAME = ("job", "kind", "description", "supplier", "amount", "spent_on")
REPEATED = (
    "This very receipt was written down a moment ago. If it is a second one, tell them apart by "
    "what was bought."
)
NO_AMOUNT = "Type what it cost; goods given back with a minus."


@transaction.atomic
def add_cost(*, job: FenceJob, values: Mapping[str, Any], actor: User, now: dt.datetime) -> JobCost:
    """Write down a receipt of a job.

    Raises:
        Refusal: it is of no amount, of a day to come, or the same was written down a moment ago.
    """
    _check(values, now=now)
    row = JobCost(**values, job=locked(job), recorded_by=actor, recorded_at=now)
    refuse_repeated(row, same=SAME, written_at="recorded_at", words=REPEATED, now=now)
    return add_row(row, actor=actor, action="wrote down a cost of a job", at=now)


@transaction.atomic
def correct_cost(
    *, cost: JobCost, values: Mapping[str, Any], actor: User, now: dt.datetime
) -> JobCost:
    """Correct a receipt that was written down wrongly.

    Raises:
        Refusal: it is of no amount, or of a day to come.
    """
    _check(values, now=now)
    return change_row(cost, changes=values, actor=actor, action="corrected a cost of a job", at=now)


def _check(values: Mapping[str, Any], *, now: dt.datetime) -> None:
    if values["amount"] == Decimal(0):
        raise Refusal(NO_AMOUNT, field="amount")
    if values["spent_on"] > timezone.localdate(now):
        raise Refusal("A receipt can't be of a day to come.", field="spent_on")
