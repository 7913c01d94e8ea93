"""The pours of one job one by one: which posts each holds, and from when these carry something.

The calendar waits for the last pour alone. Where there are several, a crew may begin at the posts
that are hard.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from estimating.selectors.build_sheets import BuildSheet, SheetLine
from scheduling import pouring
from scheduling.engine.cure import NAMES, Work
from scheduling.engine.hanging import Pour, hang_not_before
from scheduling.engine.plan import Facts, JobFacts
from scheduling.engine.ready_posts import Hung, ReadyGroup, ready_groups
from scheduling.engine.strength_line import StrengthLine, strength_line
from scheduling.models import FenceJob, PostRecord
from scheduling.selectors.planning import CureSpan, sentence_of, works_to_hang
from scheduling.selectors.sheet_content import number_rows

FABRIC = "fabric"
LINE_POST = "line"
# Posts that no report has ticked.
UNTICKED = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class PourRow:
    """One pour: its hour, the posts ticked in its report, and when these may carry what."""

    poured_at: dt.datetime
    posts: str
    count: int
    spans: tuple[CureSpan, ...]

    @property
    def sentence(self) -> str:
        """Return what is said of its waits, and once what both works are told."""
        return sentence_of(self.spans)


@dataclass(frozen=True, kw_only=True, slots=True)
class Pours:
    """A job's pours, the oldest first, and from when each post may carry a work.

    `by_post` holds for each work, by its name, the moments of the posts that were ticked, and
    under `UNTICKED` that of all others; None where it is not known, or the post is not set yet.
    """

    rows: tuple[PourRow, ...] = ()
    by_post: Mapping[str, Mapping[int, dt.datetime | None]] = field(default_factory=dict)

    def ready(self, work: str, hung: Sequence[Hung]) -> tuple[ReadyGroup, ...]:
        """Return what hangs by the moment its posts carry it."""
        known = self.by_post.get(work, {})
        numbers = {post for one in hung for post in one.posts}
        return ready_groups(hung, {post: known.get(post, known.get(UNTICKED)) for post in numbers})


ONE_POUR = Pours()


def pours_of(job: FenceJob, facts: Facts, spans: Iterable[CureSpan]) -> Pours:
    """Return a job's pours where its posts were not all set in one; `spans` are the whole job's.

    The job comes with its reports. What is still to be set is not ready; a post that nobody ticked
    though all are set waits as the whole job does.
    """
    mine = facts.jobs[str(job.pk)]
    pours = pouring.pours_by_report(job, facts.table, facts.weather)
    works = works_to_hang(mine)
    if mine.concrete is None or not works or len(pours) + mine.is_to_pour <= 1 or not pours:
        return ONE_POUR
    ticked = dict(
        PostRecord.objects.filter(job=job.pk, set_at__isnull=False).values_list(
            "number", "report_id"
        )
    )
    rows = {report: _row(job.pk, pour, works, facts) for report, pour in pours.items()}
    whole = {span.work: span.ready_at for span in spans}
    return Pours(
        rows=tuple(
            _with_posts(row, [post for post, set_in in ticked.items() if set_in == report])
            for report, row in rows.items()
        ),
        by_post={NAMES[work]: _by_post(ticked, rows, NAMES[work], whole, mine) for work in works},
    )


def strength_lines(job: FenceJob, facts: Facts) -> list[StrengthLine | None]:
    """Return each pour's gain of strength, the oldest pour first."""
    works = works_to_hang(facts.jobs[str(job.pk)])
    pours = pouring.pours_by_report(job, facts.table, facts.weather)
    return [strength_line(pour, works, facts.table) for pour in pours.values()]


def bays_of(layout: BuildSheet) -> list[Hung]:
    """Return the bays as they are hung: fabric in stretches from terminal post to terminal post."""
    found: list[Hung] = []
    for line in layout.lines:
        if line.scope not in {"removal", "posts_only"}:
            found += _stretches(line) if line.family == FABRIC else _bays(line)
    return found


def gates_of(layout: BuildSheet) -> list[Hung]:
    """Return the gates with all posts that carry them."""
    return [
        Hung(name=gate.id, posts=_numbers(gate.from_post, gate.to_post, gate.roller_post))
        for line in layout.lines
        if line.scope != "removal"
        for gate in line.gates
    ]


def _bays(line: SheetLine) -> list[Hung]:
    return [
        Hung(name=str(bay.number), posts=_numbers(bay.from_post, bay.to_post)) for bay in line.bays
    ]


def _stretches(line: SheetLine) -> list[Hung]:
    """Return a line's bays, each with every post from one terminal to the next: all are pulled."""
    kinds = {post.number: post.kind for post in line.posts}
    found: list[Hung] = []
    bays: list[str] = []
    posts: set[int] = set()
    for number, bay in enumerate(line.bays):
        bays.append(str(bay.number))
        posts |= set(_numbers(bay.from_post, bay.to_post))
        after = line.bays[number + 1].from_post if number + 1 < len(line.bays) else None
        if after != bay.to_post or kinds.get(bay.to_post) != LINE_POST:
            found += [Hung(name=name, posts=tuple(sorted(posts))) for name in bays]
            bays, posts = [], set()
    return found


def _numbers(*posts: int) -> tuple[int, ...]:
    """Return the numbers of posts; at a wall stands none."""
    return tuple(post for post in posts if post)


def _row(job_id: int, pour: Pour, works: Iterable[Work], facts: Facts) -> PourRow:
    return PourRow(
        poured_at=pour.poured_at,
        posts="",
        count=0,
        spans=tuple(
            CureSpan(
                job_id=job_id,
                work=NAMES[work],
                starts_at=pour.poured_at,
                is_poured=True,
                wait=hang_not_before(pour, work, facts.table),
            )
            for work in works
        ),
    )


def _with_posts(row: PourRow, posts: Sequence[int]) -> PourRow:
    return PourRow(
        poured_at=row.poured_at, posts=number_rows(posts), count=len(posts), spans=row.spans
    )


def _by_post(
    ticked: Mapping[int, int],
    rows: Mapping[int, PourRow],
    work: str,
    whole: Mapping[str, dt.datetime | None],
    job: JobFacts,
) -> dict[int, dt.datetime | None]:
    """Return from when each post carries a work; one ticked without a pour waits as the job."""
    of_report = {
        report: next(span.ready_at for span in row.spans if span.work == work)
        for report, row in rows.items()
    }
    last = whole.get(work)
    found = {post: of_report.get(report, last) for post, report in ticked.items()}
    return found | {UNTICKED: None if job.is_to_pour else last}
