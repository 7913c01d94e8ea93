"""A day lost to rain as pages show it: what stands on it, and whom to tell afterwards."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from firm.measure.said import Said, joined
from firm.selectors.profile import firm_profile
from scheduling.engine.wording import weekday_words
from scheduling.models import CrewDay, RainDay, RainOut, RainOutJob
from scheduling.selectors.calendar import blocks_between


@dataclass(frozen=True, kw_only=True, slots=True)
class LostDay:
    """A day, the rain written down for it, and its blocks in the order of the work."""

    date: dt.date
    rain_in: float | None
    blocks: Sequence[CrewDay]


@dataclass(frozen=True, kw_only=True, slots=True)
class CallRow:
    """A customer to tell, with the days somebody comes only before, only after, and in both."""

    row: RainOutJob
    before: str
    after: str
    stays: str

    @property
    def words(self) -> str:
        """What is said to the customer, in one sentence."""
        if self.row.fate == RainOutJob.Fate.OFF:
            return (
                f"Because of the rain we do not come on {self.before}; we will call with a new day."
            )
        if not self.after:
            return f"Because of the rain we do not come on {self.before}; the other days stay."
        if not self.before:
            return f"Because of the rain we come on {self.after} as well."
        words = f"Because of the rain we come on {self.after} instead of {self.before}"
        # Told the new days alone, they would not expect anybody on one that stays.
        return f"{words}, and on {self.stays} as said." if self.stays else f"{words}."

    @property
    def line(self) -> str:
        """The same as a line of text with name and phone, to be copied."""
        customer = self.row.job.customer
        phone = customer.phone or "no phone written down"
        return f"{customer.name}, {phone}, {self.row.job}: {self.words}"


@dataclass(frozen=True, kw_only=True, slots=True)
class CallList:
    """What a rain-out did: whom to tell, who keeps the days, and tickets to call for."""

    rain_out: RainOut
    firm: str
    calls: Sequence[CallRow]
    same_days: Sequence[RainOutJob]
    stuck: Sequence[RainOutJob]
    tickets: Sequence[str]

    @property
    def text(self) -> str:
        """The list as text to copy."""
        return "\n".join(one.line for one in self.calls)

    @property
    def line_count(self) -> int:
        """How many lines the text takes where each breaks once."""
        return max(3, 2 * len(self.calls))

    @property
    def left(self) -> int:
        """How many customers were not told yet."""
        return sum(one.row.told_at is None for one in self.calls)


def lost_day(date: dt.date) -> LostDay:
    """Return a day with what stands on it."""
    rain = RainDay.objects.filter(date=date).first()
    return LostDay(
        date=date,
        rain_in=rain.rain_in if rain else None,
        blocks=list(blocks_between(date, date)),
    )


def call_list(rain_out: RainOut) -> CallList:
    """Return whom to tell of a rain-out."""
    rows = list(
        rain_out.jobs.select_related("job__customer", "job__site", "told_by").order_by(
            "job__customer__name", "pk"
        )
    )
    stuck = [row for row in rows if row.fate == RainOutJob.Fate.STUCK]
    others = [row for row in rows if row not in stuck]
    return CallList(
        rain_out=rain_out,
        firm=firm_profile().name,
        calls=[
            CallRow(
                row=row,
                before=days_in_words(only_in(row.days_before, row.days_after)),
                after=days_in_words(only_in(row.days_after, row.days_before)),
                stays=days_in_words(in_both(row.days_after, row.days_before)),
            )
            for row in others
            if row.days_before != row.days_after
        ],
        same_days=[row for row in others if row.days_before == row.days_after],
        stuck=stuck,
        tickets=[row.call for row in rows if row.call],
    )


def only_in(days: Iterable[str], others: Iterable[str]) -> list[dt.date]:
    """Return the days of a list, as ISO 8601 writes them, that another lacks."""
    known = set(others)
    return [dt.date.fromisoformat(day) for day in days if day not in known]


def in_both(days: Iterable[str], others: Iterable[str]) -> list[dt.date]:
    """Return the days of a list, as ISO 8601 writes them, that another has too."""
    known = set(others)
    return [dt.date.fromisoformat(day) for day in days if day in known]


def days_in_words(days: Sequence[dt.date]) -> str:
    """Return days as a sentence names them."""
    names = [weekday_words(day) for day in days]
    if len(names) < 2:
        return joined(names)
    return Said("{first} and {second}", first=joined(names[:-1], ", "), second=names[-1])
