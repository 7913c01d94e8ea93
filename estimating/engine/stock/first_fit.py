"""First-fit decreasing: the longest piece first, each into the first bar that still has room."""

from dataclasses import dataclass

from estimating.engine.stock.cutting import Bar, CuttingJob, cost_of


def first_fit(job: CuttingJob) -> list[Bar]:
    """Return the cheapest of the plans that begin every new bar with one length of stock.

    A piece too long for that length begins the next longer one; at the end each bar is changed
    for the cheapest stock that holds its pieces. The plan that costs least is returned, of equal
    ones the one with fewer bars.
    """
    plans = [_with_stock(job, preferred) for preferred in range(len(job.stocks))]
    return min(plans, key=lambda bars: (cost_of(job, bars), len(bars)))


def cheapest_stock(job: CuttingJob, load: int) -> int:
    """Return the cheapest stock that has room for a load of widths; of equal ones the shortest."""
    fitting = [s for s in range(len(job.stocks)) if job.room(s) >= load]
    return min(fitting, key=lambda s: (job.stocks[s].cost, s))


@dataclass(kw_only=True, slots=True)
class _Alike:
    """Bars next to each other that hold the same."""

    bars: int
    room: int
    load: int
    counts: list[int]


def _with_stock(job: CuttingJob, preferred: int) -> list[Bar]:
    """Return first fit's plan; pieces alike are placed together, into bars alike at once."""
    groups: list[_Alike] = []
    for i, (width, count) in enumerate(zip(job.widths, job.counts, strict=True)):
        left, placed = count, []
        for group in groups:
            parts, left = _fill(group, i, width, left)
            placed += parts
        if left:
            empty = _Alike(
                bars=left,
                room=job.room(_new_stock(job, preferred, width)),
                load=0,
                counts=[0] * len(job.widths),
            )
            parts, _ = _fill(empty, i, width, left)
            placed += [part for part in parts if part.load]
        groups = placed
    return [
        Bar(stock=cheapest_stock(job, group.load), counts=tuple(group.counts))
        for group in groups
        for _ in range(group.bars)
    ]


def _fill(group: _Alike, i: int, width: int, left: int) -> tuple[list[_Alike], int]:
    """Put pieces into bars alike, one bar after the other; return them, and the pieces left."""
    each = group.room // width
    if not each or not left:
        return [group], left
    full = min(group.bars, left // each)
    rest = min(each, left - full * each) if full < group.bars else 0
    parts = [
        _with_more(group, bars, i, width, pieces)
        for bars, pieces in ((full, each), (1 if rest else 0, rest))
    ]
    untouched = group.bars - full - (1 if rest else 0)
    parts.append(_with_more(group, untouched, i, width, 0))
    return [part for part in parts if part.bars], left - full * each - rest


def _with_more(group: _Alike, bars: int, i: int, width: int, pieces: int) -> _Alike:
    counts = list(group.counts)
    counts[i] += pieces
    used = pieces * width
    return _Alike(bars=bars, room=group.room - used, load=group.load + used, counts=counts)


def _new_stock(job: CuttingJob, preferred: int, width: int) -> int:
    return next(s for s in range(preferred, len(job.stocks)) if job.room(s) >= width)
