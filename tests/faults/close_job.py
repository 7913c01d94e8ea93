"""A program for the test beside it: sets a job up, or ends it, pays and invoices at a moment."""

import os
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

import django

django.setup()

from collections.abc import Callable  # noqa: E402

from estimating.models import Invoice, Proposal  # noqa: E402
from firm.errors import Refusal  # noqa: E402
from scheduling.models import FenceJob  # noqa: E402
from scheduling.services.completion import finish_job  # noqa: E402
from tests.factories import NOW  # noqa: E402
from tests.money_cast import issue, make_contract, pay  # noqa: E402


def _finish() -> None:
    finish_job(
        job=FenceJob.objects.get(),
        signed_name="Wren Halloway",
        strokes=[],
        remarks="",
        actor=None,
        now=NOW,
        ends_phases=True,
    )


def _pay() -> None:
    proposal = Proposal.objects.get()
    pay(proposal, "2040.00", reference="118")


def _issue() -> None:
    issue(Invoice.objects.get())


def main(at_s: float) -> int:
    """Do all three when the clock reads `at_s`; return how many of them were this call's."""
    time.sleep(max(0.0, at_s - time.time()))
    done = 0
    deeds: tuple[Callable[[], None], ...] = (_finish, _pay, _issue)
    for deed in deeds:
        try:
            deed()
            done += 1
        except Refusal:
            pass
    return done


if __name__ == "__main__":
    if sys.argv[1] == "set-up":
        make_contract()
    else:
        sys.exit(main(float(sys.argv[2])))
