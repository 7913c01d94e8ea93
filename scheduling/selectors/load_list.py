"""What a crew loads for its days, by job: from the yard first; what lies at the site stays there.

No price is on it: crew leads read it.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from firm.models import User
from scheduling.models import Crew, CrewDay, FenceJob
from scheduling.selectors.crew_languages import crew_language
from scheduling.selectors.material import ByHand, NeedRow, Out, material_standing, outs_of
from scheduling.selectors.reach import crews_within_reach


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadRow:
    """One item of a job; counts are whole purchase units.

    `to_load` lies in the yard for it, `missing` is neither there nor at the site. Where a person
    wrote the material down as here, the yard's count knows nothing of it: `is_by_hand`.
    """

    item: str
    name: str
    unit: str
    needed: int
    loaded: int
    to_load: int
    at_site: int
    missing: int
    is_by_hand: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class JobLoad:
    """What one job needs on the crew's days; of `done_names` it needs nothing any more."""

    job: FenceJob
    phase_names: Sequence[str]
    first_day: dt.date
    rows: Sequence[LoadRow]
    done_names: Sequence[str] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadList:
    """What a crew loads from a first to a last day."""

    crew: Crew
    first: dt.date
    last: dt.date
    jobs: Sequence[JobLoad]
    language: str

    @property
    def can_be_ticked(self) -> bool:
        """Say whether the yard's book counts anything of it."""
        return any(not row.is_by_hand for job in self.jobs for row in job.rows)


def load_list(
    person: User, *, crew: int, first: dt.date, last: dt.date, language: str = ""
) -> LoadList | None:
    """Return what a crew loads, or None out of a person's reach."""
    found = crews_within_reach(person).filter(pk=crew).first()
    if found is None:
        return None
    days = list(
        CrewDay.objects.filter(
            crew=crew, date__range=(first, last), job__state=FenceJob.State.TO_DO
        )
        .select_related("phase", "job__customer", "job__site")
        .order_by("date", "position", "pk")
    )
    phases = {row.phase_id for row in days}
    material = material_standing()
    rows = [row for row in material.rows if row.phase and row.phase.pk in phases]
    by_hand = [each for each in material.by_hand if each.phase.pk in phases]
    out = outs_of({each.job.pk for each in by_hand})
    return LoadList(
        crew=found,
        first=first,
        last=last,
        language=crew_language(found, person, asked=language),
        jobs=tuple(_jobs(days, rows, by_hand, out)),
    )


def _jobs(
    days: Sequence[CrewDay],
    rows: Sequence[NeedRow],
    by_hand: Sequence[ByHand],
    out: dict[tuple[int, str], Out],
) -> Iterable[JobLoad]:
    for job in {row.job_id: row.job for row in days}.values():
        mine = [row for row in days if row.job_id == job.pk]
        found = [_row(row) for row in rows if row.job.pk == job.pk]
        for each in by_hand:
            if each.job.pk == job.pk:
                found += _rows_by_hand(each, out)
        if found:
            yield JobLoad(
                job=job,
                phase_names=_names(mine),
                first_day=mine[0].date,
                rows=found,
                done_names=_names(row for row in mine if row.is_done_already),
            )


def _names(rows: Iterable[CrewDay]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(str(row.phase.get_kind_display()) for row in rows))


def _row(row: NeedRow) -> LoadRow:
    covered = row.covered
    return LoadRow(
        item=row.item.item,
        name=row.item.name,
        unit=row.item.unit,
        needed=row.item.count,
        loaded=row.out.net_loaded,
        to_load=covered.from_yard,
        at_site=covered.at_site,
        missing=covered.on_order + covered.to_buy,
    )


def _rows_by_hand(each: ByHand, out: dict[tuple[int, str], Out]) -> list[LoadRow]:
    return [
        LoadRow(
            item=item.item,
            name=item.name,
            unit=item.unit,
            needed=item.count,
            loaded=out.get((each.job.pk, item.item), Out()).net_loaded,
            to_load=0,
            at_site=0,
            missing=0,
            is_by_hand=True,
        )
        for item in each.items
    ]
