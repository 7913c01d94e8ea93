"""Which bays and gates a day of hanging may begin with, where posts were set in several pours."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from estimating.selectors.build_sheets import BuildSheet
from scheduling.engine.cure import NAMES, Work
from scheduling.models import JobPhase
from scheduling.selectors.days import TimedBlock
from scheduling.selectors.pours import Pours, bays_of, gates_of
from scheduling.selectors.sheet_content import number_rows


@dataclass(frozen=True, kw_only=True, slots=True)
class LaterPart:
    """What may hang from a moment on."""

    at: dt.datetime
    names: str


@dataclass(frozen=True, kw_only=True, slots=True)
class HangBar:
    """One bay or gate that is not ready as the day's hanging begins; `at` is None where unknown."""

    name: str
    at: dt.datetime | None


@dataclass(frozen=True, kw_only=True, slots=True)
class HangPart:
    """Of a day's hanging: what is ready as it begins, what from when, and what of no known hour.

    `kind` is the phase; the names are numbers of bays, or the gates' own. `bars` says the same of
    each bay or gate that is not ready.
    """

    kind: str
    now: str
    later: tuple[LaterPart, ...]
    unknown: str
    bars: tuple[HangBar, ...] = ()

    @property
    def is_gates(self) -> bool:
        """Say whether the names are those of gates."""
        return self.kind == JobPhase.Kind.GATES

    @property
    def is_whole(self) -> bool:
        """Say whether all of it is ready."""
        return bool(self.now) and not self.later and not self.unknown


def hang_parts(
    pours: Pours, layout: BuildSheet | None, blocks: Iterable[TimedBlock]
) -> tuple[HangPart, ...]:
    """Return how each of a day's hangings stands; none where all posts were set in one pour."""
    if not pours.rows or layout is None:
        return ()
    found = []
    for block in blocks:
        kind = block.row.phase.kind
        if kind == JobPhase.Kind.HANG:
            found += [_part(kind, work, pours, layout, block) for work in _infill(pours)]
        elif kind == JobPhase.Kind.GATES and NAMES[Work.GATES] in pours.by_post:
            found.append(_part(kind, NAMES[Work.GATES], pours, layout, block))
    return tuple(found)


def _infill(pours: Pours) -> list[str]:
    return [work for work in pours.by_post if work != NAMES[Work.GATES]]


def _part(kind: str, work: str, pours: Pours, layout: BuildSheet, block: TimedBlock) -> HangPart:
    is_gates = kind == JobPhase.Kind.GATES
    now: list[str] = []
    bars: list[HangBar] = []
    later: list[LaterPart] = []
    unknown = ""
    for group in pours.ready(work, gates_of(layout) if is_gates else bays_of(layout)):
        if group.ready_at is not None and group.ready_at <= block.starts_at:
            now += group.names
            continue
        bars += [HangBar(name=name, at=group.ready_at) for name in group.names]
        if group.ready_at is None:
            unknown = _row(group.names, is_gates=is_gates)
        else:
            later.append(LaterPart(at=group.ready_at, names=_row(group.names, is_gates=is_gates)))
    return HangPart(
        kind=kind,
        now=_row(now, is_gates=is_gates),
        later=tuple(later),
        unknown=unknown,
        bars=tuple(bars),
    )


def _row(names: Sequence[str], *, is_gates: bool) -> str:
    return ", ".join(names) if is_gates else number_rows(map(int, names))
