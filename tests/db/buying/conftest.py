"""Two jobs, their crew and their suppliers, with which every test of buying begins."""

import pytest

from estimating.models import Supplier
from scheduling.models import (
    Crew,
    FenceJob,
)
from tests.buying_cast import (
    make_suppliers,
    make_two_jobs,
)
from tests.crew_cast import make_red_crew
from tests.factories import make_firm


@pytest.fixture
def crew() -> Crew:
    make_firm()
    return make_red_crew()


@pytest.fixture
def jobs(crew: Crew) -> tuple[FenceJob, FenceJob]:
    for job in (found := make_two_jobs(crew)):
        # Nobody wrote a day down by hand.
        job.phases.update(material_received_on=None, material_promised_on=None)
    return found


@pytest.fixture
def suppliers() -> tuple[Supplier, Supplier]:
    return make_suppliers()
