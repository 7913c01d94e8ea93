"""Hours that pass, whatever the clocks do."""

import datetime as dt


def hours_later(moment: dt.datetime, hours: float) -> dt.datetime:
    """Return the moment after that many real hours, whatever the clocks do in between."""
    later = moment.astimezone(dt.UTC) + dt.timedelta(hours=hours)
    return later.astimezone(moment.tzinfo)
