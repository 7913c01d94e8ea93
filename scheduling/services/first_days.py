"""Moving one block to the first day on which it breaks nothing."""

import datetime as dt
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from firm.errors import Refusal
from firm.models import User
from firm.services.saving import locked
from scheduling import mapping
from scheduling.engine.errors import EngineError
from scheduling.engine.placing import Placing, Wanted, place
from scheduling.engine.plan import CrewDay as Block
from scheduling.models import CrewDay
from scheduling.selectors.planning import Plan, standing_plan
from scheduling.services.calendar_rows import lock_calendar
from scheduling.services.placing import HORIZON, ONE_DAY
from scheduling.services.planning import move_block

# A whole block that fits on none of the crew's next days is better placed in parts.
MOST_TRIES = 10


@transaction.atomic
def move_to_first_day(*, block: CrewDay, actor: User | None, now: dt.datetime) -> CrewDay:
    """Move a block, whole and with its crew, to the first day from tomorrow on that allows it.

    Raises:
        Refusal: no day takes it alone; says what it waits for.
    """
    lock_calendar()
    kept = locked(block)
    today = timezone.localdate(now)
    found = _first_fit(kept, standing_plan(today=today, also=[kept.job_id]), today)
    return move_block(
        block=kept,
        crew=kept.crew,
        date=found.date,
        hours=Decimal(str(found.hours)),
        start=found.start,
        air_f=kept.air_f,
        actor=actor,
        now=now,
    )


def _first_fit(row: CrewDay, plan: Plan, today: dt.date) -> Block:
    others = [one for one in plan.blocks if one.key != str(row.pk)]
    first, last = today + ONE_DAY, today + HORIZON
    for _ in range(MOST_TRIES):
        placing = _placed(row, plan, others, first, last)
        if placing.waits_for:
            raise Refusal(f"No day takes it alone. {placing.waits_for} Place the job anew instead.")
        if len(placing.blocks) == 1:
            return placing.blocks[0]
        first = placing.blocks[0].date + ONE_DAY
    raise Refusal("No day soon has room for all of it: place the job anew instead.")


def _placed(
    row: CrewDay, plan: Plan, others: list[Block], first: dt.date, last: dt.date
) -> Placing:
    mine = mapping.block_of(row)
    # In hours of the whole crew: on a day on which some are away it lasts longer.
    whole_h = mine.hours * (plan.facts.crews[mine.crew].share_on(mine.date) or 1.0)
    hours = {mine.crew: {mine.phase: whole_h}}
    wanted = Wanted(job=mine.job, hours=hours, first_day=first, last_day=last)
    try:
        return place(wanted, others, plan.facts)
    except EngineError as error:
        raise Refusal(f"No day takes it alone. {error} Place the job anew instead.") from error
