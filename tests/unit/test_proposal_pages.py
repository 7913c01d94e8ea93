"""Where a proposal's pages break: the plan on the first page, signatures never alone."""

from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from estimating.services.proposal_content import Party, ProposalContent, Row
from estimating.services.proposal_pdf import render_proposal_pdf

SCOPE = (
    "Back line, rear yard: " + "build 96 ft of fence in the way we said. " * 6,
    "Gate G1: walk gate, 48 in clear, one leaf, hinged on the left, swings outward.",
)


def plan(height: int) -> str:
    """A plan on a sheet 720 units wide, as wide as the text of a page."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 720 {height}" role="img">'
        f'<title>Site plan</title><rect width="720" height="{height}" fill="none" stroke="#000"/>'
        "</svg>"
    )


def proposal() -> ProposalContent:
    row = Row(description="Fence", amount="$1.00")
    return ProposalContent(
        number="1",
        title="Fence along the lane",
        dated="May 4, 2026",
        valid_until="June 3, 2026",
        firm=Party(
            name="Alder & Post", address=("1 Lane", "Town"), phone="555-0100", email="a@b.example"
        ),
        customer=Party(name="Ines Halloway"),
        site=("7 Sorrel Court", "Harrow Falls, OH 44999"),
        introduction="Dear Ines Halloway,\nThank you for asking us.",
        facts=(row, row),
        scope=SCOPE,
        plan_svg=plan(420),
        detail="quantities",
        price_rows=(row, row),
        quantity_rows=(),
        price_before_tax="$1.00",
        sales_tax="$0.00",
        price="$1.00",
        options=(),
        payments=(row, row, row),
        exclusions=("Rock is extra. " * 8,) * 4,
        cautions=("Marks are approximate. " * 6,) * 6,
        voided_by=("It is not accepted by the date above.",) * 4,
        how_to_accept=("At the link in our mail.", "Or on paper."),
        cancellation_note="Nothing is ordered before the 3rd business day.",
        firm_texts=(),
    )


def pages(content: ProposalContent, *, is_draft: bool = False) -> list[str]:
    pdf = PdfReader(BytesIO(render_proposal_pdf(content, is_draft=is_draft)))
    return [page.extract_text() for page in pdf.pages]


# Letter paper, 279.4 mm less margins of 33, has 246 mm; the head of the first page takes some 92,
# scope and greeting some 30: 120 mm are left. A sheet of 720 units is 178 mm wide, so 420 units
# are 104 mm high and fit; 540 are 133 and fit at 85 %; 600, or 148, fit above the scope alone,
# which flows on to the next page.
@pytest.mark.parametrize("height", [480, 540, 600])
def test_the_plan_stands_on_the_first_page(height: int) -> None:
    first = pages(replace(proposal(), plan_svg=plan(height)))[0]
    assert "Where it stands" in first
    assert "What we build" in first or height > 540


def test_a_draft_says_so_on_every_page_and_breaks_where_the_offer_will() -> None:
    draft, offer = pages(proposal(), is_draft=True), pages(proposal())
    assert all("Draft, not an offer yet" in page for page in draft)
    assert not any("Draft" in page for page in offer)
    assert [page.replace("Draft, not an offer yet", "").split() for page in draft] == [
        page.split() for page in offer
    ]


@pytest.mark.parametrize("cautions", [4, 22])
def test_what_is_signed_stands_with_the_signatures(cautions: int) -> None:
    content = replace(proposal(), cautions=("Marks are approximate. " * 6,) * cautions)
    last = pages(content)[-1]
    assert "Signature" in last
    assert "This proposal is good until" in last
