"""Hours that pass, whatever the clocks do, and the quarter hours that a calendar counts in."""

import datetime as dt

QUARTERS_PER_HOUR = 4
QUARTER_HOUR = dt.timedelta(hours=1) / QUARTERS_PER_HOUR


def hours_later(moment: dt.datetime, hours: float) -> dt.datetime:
    """Return the moment after that many real hours, whatever the clocks do in between."""
    later = moment.astimezone(dt.UTC) + dt.timedelta(hours=hours)
    return later.astimezone(moment.tzinfo)
