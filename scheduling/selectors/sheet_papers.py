"""The papers a day sheet shows: locate tickets with their answers, and permits."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from firm.models import Clearance


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetAnswer:
    """What one utility answered, as a key and in words."""

    utility: str
    answer: str
    words: str
    note: str


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetTicket:
    """One locate ticket."""

    number: str
    state: str
    clear_on: dt.date | None
    expires_on: dt.date | None
    renew_by: dt.date | None
    answers: tuple[SheetAnswer, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetPermit:
    """One permit and how it stands, in words."""

    number: str
    words: str


def tickets_of(clearances: Iterable[Clearance]) -> tuple[SheetTicket, ...]:
    """Return the locate tickets among papers that come with their answers."""
    return tuple(_ticket(row) for row in clearances if row.kind == Clearance.Kind.LOCATE)


def permits_of(clearances: Iterable[Clearance]) -> tuple[SheetPermit, ...]:
    """Return the permits among papers."""
    return tuple(
        SheetPermit(number=row.number, words=row.get_state_display())
        for row in clearances
        if row.kind == Clearance.Kind.PERMIT
    )


def _ticket(row: Clearance) -> SheetTicket:
    return SheetTicket(
        number=row.number,
        state=row.state,
        clear_on=row.clear_on,
        expires_on=row.expires_on,
        renew_by=row.renew_by,
        answers=tuple(
            SheetAnswer(
                utility=one.utility,
                answer=one.answer,
                words=one.get_answer_display(),
                note=one.note,
            )
            for one in row.answers.all()
        ),
    )
