"""A site document becomes a PDF without a database."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from pypdf import PdfReader

from estimating.drawing import marks
from estimating.services.proposal_pdf import printable

GOLDEN = Path(__file__).parent.parent / "golden"


def test_a_file_is_printed_with_its_scope_price_and_the_word_draft(tmp_path: Path) -> None:
    pdf = tmp_path / "out.pdf"
    shown = StringIO()
    call_command("estimate", str(GOLDEN / "straight_vinyl.json"), pdf=pdf, stdout=shown)
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(pdf).pages).split())
    assert "Draft, not an offer yet" in text
    assert "What we build" in text
    assert "is good until" in text
    assert shown.getvalue()


def test_a_place_that_can_not_be_written_is_named(tmp_path: Path) -> None:
    pdf = tmp_path / "nowhere" / "out.pdf"
    with pytest.raises(CommandError, match="nowhere"):
        call_command("estimate", str(GOLDEN / "straight_vinyl.json"), pdf=pdf, stdout=StringIO())


@pytest.mark.parametrize("angle_deg", [0.0, 90.0])
def test_words_of_a_plan_are_printed_on_white_paper(angle_deg: float) -> None:
    drawn = marks.words("32 ft & more", 100, 50, size=10, angle_deg=angle_deg)
    printed = printable(drawn)
    assert printed.startswith("<rect ")
    assert "paint-order" not in printed
    assert "stroke" not in printed
    assert printed.count("rotate") == (2 if angle_deg else 0)
    assert printed.endswith(">32 ft &amp; more</text>")
