"""May a crew dig at a job on a day, and may it pour: yes or no, and what decides."""

import datetime as dt
from dataclasses import dataclass

from django.utils import timezone

from firm.measure.said import Said
from scheduling import mapping
from scheduling.engine.readiness import conditions, dig_block, first_block
from scheduling.engine.standing import Kind
from scheduling.models import FenceJob, JobPhase

# Old footings come out of the ground as new holes go in; stakes are driven on layout day.
OPENS_GROUND = frozenset({JobPhase.Kind.REMOVAL, JobPhase.Kind.LAYOUT, JobPhase.Kind.DIG})
DIG_DAY = OPENS_GROUND | {JobPhase.Kind.SET}


@dataclass(frozen=True, kw_only=True, slots=True)
class DigAnswer:
    """May I dig here, may I pour: yes or no, and the one thing that decides."""

    may_dig: bool
    words: str
    detail: str
    may_pour: bool
    pour_words: str
    pour_detail: str


def dig_answer(job: FenceJob, *, date: dt.date, now: dt.datetime) -> DigAnswer:
    """Return whether a job may be dug and its holes filled on a day; today from this hour on."""
    if job.state == FenceJob.State.CALLED_OFF:
        return DigAnswer(
            may_dig=False,
            words=Said("This job is called off."),
            detail=job.called_off_reason,
            may_pour=False,
            pour_words=Said("This job is called off."),
            pour_detail="",
        )
    here = timezone.localtime(now)
    standing, on = mapping.standing_of(job), here if date == here.date() else date
    block = dig_block(standing, on=on)
    found = conditions(standing, on=on)
    pour = first_block(found)
    ticket = next(one for one in found if one.kind == Kind.LOCATE)
    inspection = next(one for one in found if one.kind == Kind.INSPECTION)
    return DigAnswer(
        may_dig=block is None,
        words=(block or ticket).words,
        detail=(block or ticket).detail,
        may_pour=pour is None,
        pour_words=(pour or inspection).words,
        pour_detail=(pour or inspection).detail,
    )
