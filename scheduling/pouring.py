"""Between what was reported and planned of a job's pours, and the concrete the engine judges."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import replace

from django.utils import timezone

from scheduling.engine.air import UNKNOWN_AIR_F, Air
from scheduling.engine.cure import CureTable, Work
from scheduling.engine.hanging import Pour
from scheduling.engine.plan import Concrete
from scheduling.models import CrewDay as CrewDayRow
from scheduling.models import FenceJob, JobPhase

# The mix that waits longest, for a name the table does not know.
CAUTIOUS_MIX = "standard"


def pours_by_report(job: FenceJob, table: CureTable, weather: Air) -> dict[int, Pour]:
    """Return each pour that was reported, the oldest first, in its own mix and air, by report."""
    rows = [(report.poured_at, report) for report in job.reports.all() if report.poured_at]
    found = {}
    for poured_at, report in sorted(rows, key=lambda one: (one[0], one[1].pk)):
        moment = timezone.localtime(poured_at)
        found[report.pk] = Pour(
            poured_at=moment,
            mix=_known_mix(report.mix, table),
            air=replace(weather, said_f=_air(moment.date(), report.air_f, weather)),
            is_covered=job.is_covered_against_frost,
        )
    return found


def concrete_of(
    job: FenceJob, set_days: Sequence[CrewDayRow], table: CureTable, weather: Air
) -> Concrete:
    """Return the newest pour, with the slowest mix and the coldest air any posts still meet.

    An earlier pour of a slower mix may harden later than the newest one.
    """
    poured = sorted(
        (timezone.localtime(report.poured_at), report.mix, report.air_f)
        for report in job.reports.all()
        if report.poured_at
    )
    newest = poured[-1][0] if poured else None
    longest_wait = dt.timedelta(hours=table.longest_h(UNKNOWN_AIR_F))
    fresh = [one for one in poured if newest and newest - one[0] <= longest_wait]
    mixes = [mix for _, mix, _ in fresh]
    air = [_air(moment.date(), air_f, weather) for moment, _, air_f in fresh]
    if not _is_set(job):
        mixes.append(job.mix)
        air += [_air(row.date, row.air_f, weather) for row in set_days]
    said = [air_f for air_f in air if air_f is not None]
    coldest = min(said, default=None)
    at_worst = UNKNOWN_AIR_F if coldest is None else coldest
    return Concrete(
        mix=_slowest_mix(mixes or [job.mix], table, at_worst),
        air_f=coldest,
        poured_at=newest,
        is_covered=job.is_covered_against_frost,
    )


def _is_set(job: FenceJob) -> bool:
    return any(phase.kind == JobPhase.Kind.SET and phase.finished_on for phase in job.phases.all())


def _slowest_mix(names: Iterable[str], table: CureTable, air_f: float) -> str:
    asked = {_known_mix(name, table) for name in names}

    def hours(key: str) -> float:
        return sum(table.mix(key).steady_hours(work, air_f, table.rule) for work in Work)

    return max(sorted(asked), key=hours)


def _known_mix(name: str, table: CureTable) -> str:
    return name if any(mix.key == name for mix in table.mixes) else CAUTIOUS_MIX


def _air(day: dt.date, air_f: float | None, weather: Air) -> float | None:
    """Return what was written down of a day's air; where nothing is known, the longest waits."""
    return UNKNOWN_AIR_F if air_f is None and not weather.knows(day) else air_f
