"""A program for the test beside it: sets a proposal up, or accepts it at a given moment."""

import os
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

import django

django.setup()

from estimating.models import Proposal  # noqa: E402
from estimating.services.acceptances import Signature, accept_at_link  # noqa: E402
from tests.factories import NOW, make_sent_proposal  # noqa: E402


def main(name: str, at_s: float) -> int:
    """Accept as `name` when the clock reads `at_s`; 1 says that this call was the one."""
    proposal = Proposal.objects.get()
    time.sleep(max(0.0, at_s - time.time()))
    signature = Signature(name=name, pdf_sha256=proposal.pdf_sha256)
    acceptance, is_new = accept_at_link(proposal=proposal, signature=signature, now=NOW)
    assert is_new == (acceptance.signed_name == name)
    return int(is_new)


if __name__ == "__main__":
    if sys.argv[1] == "set-up":
        make_sent_proposal()
    else:
        sys.exit(main(sys.argv[1], float(sys.argv[2])))
