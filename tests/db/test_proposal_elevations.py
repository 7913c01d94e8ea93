"""The elevation drawings of a proposal's appendix."""

import pytest

from estimating.services.proposal_building import content_of
from estimating.services.proposal_pdf import proposal_html
from tests.factories import TODAY, make_sent_proposal
from tests.sheet_cast import fence_document, fence_line, make_laid_out_estimate

pytestmark = pytest.mark.django_db


def test_elevation_is_frozen_with_the_proposal() -> None:
    ground = [
        {"station_in": 0.0, "elevation_in": 0.0},
        {"station_in": 576.0, "elevation_in": -60.0},
    ]
    estimate = make_laid_out_estimate(fence_document(fence_line(576.0, ground=ground)))
    sent = make_sent_proposal(estimate)
    (drawing,) = content_of(sent, today=TODAY).elevations
    assert "step 10 in" in drawing.svg  # 60 in over 6 bays, and a panel racks 6 at most
    html = proposal_html(content_of(sent, today=TODAY))
    assert "Appendix: the fence on its ground" in html
    # 5 steps between its 6 bays; the panels stand 2 in clear where they are nearest.
    assert "in 5 steps of up to 10 in; at the lowest places 12 in stay open" in html

    estimate.result["lines"][0]["ground"] = []
    estimate.save()

    assert content_of(sent, today=TODAY).elevations == (drawing,)


def test_content_frozen_before_there_were_elevations_still_reads() -> None:
    sent = make_sent_proposal()
    del sent.content["elevations"]
    assert content_of(sent, today=TODAY).elevations == ()
