"""Between rows of the database and the engine's objects."""

from django.utils import timezone

from firm.models import Clearance
from scheduling.engine.readiness import (
    PAPER_KINDS,
    Answer,
    Kind,
    Paper,
    Standing,
    State,
    Ticket,
    UtilityAnswer,
)
from scheduling.models import FenceJob


def standing_of(job: FenceJob) -> Standing:
    """Return where a job stands, by its signature and its site's clearances.

    Material and inspections are not kept yet, so the engine is told of neither.
    """
    rows = list(job.site.clearances.all()) if job.site else []
    return Standing(
        signed_at=timezone.localtime(job.signed_at),
        cancellation_ends_at=timezone.localtime(job.cancellation_ends_at),
        papers=tuple(_paper(row) for row in rows if row.kind in PAPER_KINDS),
        tickets=tuple(_ticket(row) for row in rows if row.kind == Clearance.Kind.LOCATE),
    )


def _paper(row: Clearance) -> Paper:
    return Paper(
        kind=Kind(row.kind),
        state=State(row.state),
        number=row.number,
        clear_on=row.clear_on,
        expires_on=row.expires_on,
    )


def _ticket(row: Clearance) -> Ticket:
    return Ticket(
        state=State(row.state),
        number=row.number,
        clear_on=row.clear_on,
        expires_on=row.expires_on,
        renew_by=row.renew_by,
        answers=tuple(
            UtilityAnswer(utility=each.utility, answer=Answer(each.answer))
            for each in row.answers.all()
        ),
    )
