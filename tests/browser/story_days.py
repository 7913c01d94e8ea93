"""The days on which the walk of the main job happens."""

import datetime as dt
from dataclasses import dataclass

ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Days:
    """The days of the story: a Friday of preparing, the dig on the Monday, the hanging after."""

    friday: dt.date

    @classmethod
    def after(cls, signed_on: dt.date) -> "Days":
        """Return the first that lie clear of the time to cancel, whatever holidays fall in it."""
        return cls(next(signed_on + n * ONE_DAY for n in range(7, 14) if _is_friday(signed_on, n)))

    @property
    def dig(self) -> dt.date:
        return self.friday + 3 * ONE_DAY

    @property
    def hang(self) -> dt.date:
        return self.dig + 3 * ONE_DAY

    @property
    def gate(self) -> dt.date:
        return self.dig + 7 * ONE_DAY


def _is_friday(first: dt.date, days: int) -> bool:
    return (first + days * ONE_DAY).weekday() == 4
