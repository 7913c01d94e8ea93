"""Slows down whoever guesses passwords: after a few wrong ones each further try must wait.

Counted by name and address together, so that a stranger who knows the owner's log-in name can't
keep the owner out. The wait ends by itself, and a new password by mail ends it at once.
"""

import datetime as dt

from django.db import transaction
from django.db.models import F

from firm.errors import Refusal
from firm.measure.said import Said
from firm.models import FailedLogIn

FREE_TRIES = 5
FIRST_WAIT = dt.timedelta(seconds=30)
LONGEST_WAIT = dt.timedelta(minutes=15)
FORGOTTEN_AFTER = dt.timedelta(days=1)
MOST_DOUBLINGS = 10


def wait_after(count: int) -> dt.timedelta:
    """Return how long the next try must wait after so many failures: 30 s, doubled each time."""
    if count < FREE_TRIES:
        return dt.timedelta(0)
    times: int = 2 ** min(count - FREE_TRIES, MOST_DOUBLINGS)
    return min(FIRST_WAIT * times, LONGEST_WAIT)


def refuse_hasty_log_in(*, name: str, address: str, now: dt.datetime) -> None:
    """Let a log-in be tried, or refuse while its wait lasts; a refused try lengthens nothing.

    Raises:
        Refusal: too many wrong passwords were typed.
    """
    row = FailedLogIn.objects.filter(**_key(name, address)).first()
    if row is None or now - row.last_at > FORGOTTEN_AFTER:
        return
    left = row.last_at + wait_after(row.count) - now
    if left > dt.timedelta(0):
        minutes = -(-left // dt.timedelta(minutes=1))
        if minutes == 1:
            raise Refusal(
                Said(
                    "Too many wrong passwords. Try again in 1 minute, or let a new password be "
                    "mailed to you."
                )
            )
        raise Refusal(
            Said(
                "Too many wrong passwords. Try again in {minutes} minutes, or let a new password "
                "be mailed to you.",
                minutes=minutes,
            )
        )


@transaction.atomic
def note_failed_log_in(*, name: str, address: str, now: dt.datetime) -> None:
    """Count a failure; those of yesterday are forgotten."""
    FailedLogIn.objects.filter(last_at__lt=now - FORGOTTEN_AFTER).delete()
    row, _ = FailedLogIn.objects.get_or_create(**_key(name, address), defaults={"last_at": now})
    FailedLogIn.objects.filter(pk=row.pk).update(count=F("count") + 1, last_at=now)


def forget_failed_log_ins(*, name: str, address: str = "") -> None:
    """Begin anew for a name, from one address or, without one, from anywhere."""
    rows = FailedLogIn.objects.filter(name=_key(name, "")["name"])
    (rows.filter(address=address) if address else rows).delete()


def _key(name: str, address: str) -> dict[str, str]:
    return {"name": name.casefold()[:150], "address": address[:45]}
