"""Times a proposal of four pages against WeasyPrint's own time on the same HTML.

Run it with `python -m tests.bench.bench_proposal`. The aim: at most 1.1 times.
"""

import datetime as dt
import os
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

import django  # noqa: E402 - the settings come first

django.setup()

import json  # noqa: E402
from io import BytesIO  # noqa: E402

from pypdf import PdfReader  # noqa: E402
from weasyprint import CSS, HTML  # noqa: E402
from weasyprint.text.fonts import FontConfiguration  # noqa: E402

from estimating.engine import reading  # noqa: E402
from estimating.engine.estimate import estimate  # noqa: E402
from estimating.mapping import to_plain  # noqa: E402
from estimating.services.estimate_facts import read_facts  # noqa: E402
from estimating.services.estimate_pdf import offer_of  # noqa: E402
from estimating.services.proposal_building import assemble  # noqa: E402
from estimating.services.proposal_pdf import proposal_html, render_proposal_pdf  # noqa: E402
from estimating.starter import load_starter_data  # noqa: E402
from firm.models import FirmProfile  # noqa: E402

ROUNDS = 15
AIM = 1.1
TODAY = dt.date(2026, 5, 4)
STYLES = ROOT / "static" / "css" / "pdf_proposal.css"


def seconds(work: Callable[[], object]) -> float:
    """Return the processor time of one run: other programs don't count."""
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> int:
    """Print both medians and their ratio; fail above the aim."""
    document = json.loads((ROOT / "tests/golden/closed_and_shared.json").read_text())
    site = reading.read_site(document)
    catalog = reading.read_catalog(reading.merge_catalog_data(load_starter_data(), document))
    result = estimate(site, catalog, typed=reading.read_typed_lines(document))
    firm = FirmProfile(name="Alder & Post Fencing", lien_text="Notice of liens. " * 150)
    facts = read_facts(
        document=to_plain(site),
        catalog={"fence_systems": to_plain(catalog.systems)},
        result=to_plain(result),
    )
    offer = offer_of(facts, result, site, firm, TODAY)

    def ours() -> bytes:
        return render_proposal_pdf(assemble(offer, facts=facts, firm=firm), is_draft=True)

    html = proposal_html(assemble(offer, facts=facts, firm=firm), is_draft=True)
    bare = html.replace('<link rel="stylesheet" href="/static/css/pdf_proposal.css">', "")

    def weasyprint() -> object:
        fonts = FontConfiguration()
        sheet = CSS(filename=str(STYLES), font_config=fonts)
        return HTML(string=bare).write_pdf(
            pdf_variant="pdf/ua-1", stylesheets=[sheet], font_config=fonts
        )

    pages = len(PdfReader(BytesIO(ours())).pages)
    weasyprint()
    # One after the other, so that a busy machine slows both.
    pairs = [(seconds(ours), seconds(weasyprint)) for _ in range(ROUNDS)]
    own = statistics.median(pair[0] for pair in pairs)
    theirs = statistics.median(pair[1] for pair in pairs)
    print(f"{pages} pages: {own:.3f} s, WeasyPrint alone {theirs:.3f} s: {own / theirs:.2f} times")  # noqa: T201
    return int(own / theirs > AIM)


if __name__ == "__main__":
    sys.exit(main())
