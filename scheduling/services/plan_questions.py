"""What the planner is asked: the jobs to place, what stands fixed beside them, and a mark of all.

Whoever takes a plan asks anew: where the mark differs, the plan answers another question.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal

from firm.selectors.profile import firm_profile
from scheduling import mapping
from scheduling.engine.air import UNKNOWN_AIR_F, Air
from scheduling.engine.placing import Wanted
from scheduling.engine.planner.building import MOVE_MIN, Asked, Weights
from scheduling.models import CrewDay, FenceJob
from scheduling.selectors.planning import Plan, standing_plan
from scheduling.services.placing import HORIZON, ONE_DAY, hours_wanted

MINUTES_PER_HOUR = 60
# What is only told of a thing: another name or another unit makes no other plan.
WORDS = frozenset({"name", "number", "off_words", "is_metric"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Question:
    """What is asked of the planner, with the calendar it is asked from and the rows it may move."""

    asked: Asked
    plan: Plan
    movable: tuple[CrewDay, ...]

    @property
    def mark(self) -> str:
        """A mark of every fact the plan is worked out from, and none of what is only told.

        A block moved away and back stands where it stood, but fixed: no plan may take its place.
        What was typed of the air of a day that may be given up is not asked, but stays with it.
        """
        airs = [(row.pk, row.air_f) for row in self.movable]
        return hashlib.sha256(json.dumps([_plain(self.asked), airs]).encode()).hexdigest()


def question_of(today: dt.date) -> Question:
    """Return what is asked of the planner as everything stands."""
    keys = open_jobs()
    plan = standing_plan(today=today, also=keys)
    movable = movable_rows(plan, today, keys)
    fixed = [row for row in plan.rows if row not in movable]
    # A day that is given up takes along what was written down of its air, but not a cold one: where
    # the day is kept after all, its concrete must not harden for longer than the plan reckons with.
    gone = [row for row in movable if not _is_cold(row, plan.facts.weather)]
    facts = standing_plan(today=today, also=keys, without=gone).facts
    first, last = today + ONE_DAY, today + HORIZON
    wanted = []
    for job in FenceJob.objects.filter(pk__in=keys).order_by("signed_at", "pk"):
        hours = hours_wanted(plan, job, fixed, today)
        if any(any(mine.values()) for mine in hours.values()):
            wanted.append(Wanted(job=str(job.pk), hours=hours, first_day=first, last_day=last))
    asked = Asked(
        jobs=tuple(wanted),
        fixed=tuple(mapping.block_of(row) for row in fixed),
        shown=tuple(mapping.block_of(row) for row in movable),
        stands=tuple(mapping.block_of(row) for row in plan.rows),
        facts=facts,
        first_day=first,
        last_day=last,
        weights=_weights(),
    )
    return Question(asked=asked, plan=plan, movable=movable)


def open_jobs() -> list[int]:
    """Return the jobs still to be done, the first signed first."""
    jobs_to_do = FenceJob.objects.filter(state=FenceJob.State.TO_DO)
    return list(jobs_to_do.order_by("signed_at", "pk").values_list("pk", flat=True))


def movable_rows(plan: Plan, today: dt.date, keys: Iterable[int]) -> tuple[CrewDay, ...]:
    """Return the blocks a plan may move: neither fixed nor of today."""
    jobs = set(keys)
    return tuple(
        row for row in plan.rows if row.date > today and not row.is_pinned and row.job_id in jobs
    )


def _is_cold(row: CrewDay, weather: Air) -> bool:
    """Say whether colder air was written down of a block than is reckoned with otherwise."""
    if row.air_f is None:
        return False
    return row.air_f < max(UNKNOWN_AIR_F, weather.on(row.date).mean_f)


def _weights() -> Weights:
    profile = firm_profile()
    a_minute = profile.crew_rate * profile.crew_size / MINUTES_PER_HOUR
    return Weights(move_min=MOVE_MIN, road_cost=max(a_minute, Decimal("0.01")))


def _plain(value: object) -> object:
    """Return a value as JSON has it, the same in every process: sets and mappings in order."""
    if is_dataclass(value) and not isinstance(value, type):
        kept = (one.name for one in fields(value) if one.compare and one.name not in WORDS)
        return [[name, _plain(getattr(value, name))] for name in kept]
    if isinstance(value, Mapping):
        return sorted(([str(key), _plain(each)] for key, each in value.items()), key=json.dumps)
    if isinstance(value, Set):
        return sorted(map(str, value))
    if isinstance(value, (list, tuple)):
        return [_plain(each) for each in value]
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    return str(value)
