"""A job's days on its page, placing it from there, and the page it is prepared on."""

from collections.abc import Callable
from decimal import Decimal
from html import unescape
from unittest.mock import patch

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firm.models import Clearance, Role
from scheduling.models import Crew, CrewDay, FenceJob, JobPhase
from scheduling.selectors.cure_spans import plan_around
from scheduling.services.planning import place_job
from tests.crew_cast import make_full_job, make_red_crew, may, put_on
from tests.factories import NOW
from tests.firm_cast import make_jurisdiction
from tests.job_cast import DAY, settle

pytestmark = pytest.mark.django_db

MONDAY = may(4)


@pytest.fixture(autouse=True)
def _in_may() -> object:
    with patch("django.utils.timezone.now", return_value=NOW):
        yield None


@pytest.fixture
def crew(db: None) -> Crew:
    return make_red_crew()


@pytest.fixture
def job(crew: Crew) -> FenceJob:
    return make_full_job(1001, on=MONDAY)


def page_of(client: Client, job: FenceJob) -> str:
    return unescape(client.get(reverse("job", args=[job.pk])).content.decode())


def part(page: str, begins: str) -> str:
    """Return a section of the page by its heading."""
    return page[page.index(f">{begins}<") :].split("</section>")[0]


def test_office_places_a_job_and_sees_its_days(as_office: Client, job: FenceJob) -> None:
    before = part(page_of(as_office, job), "Days on the calendar")
    assert "Without a day: layout and string, digging, setting posts, concrete" in (
        before.replace("<strong>", "").replace("</strong>", "")
    )
    answer = as_office.post(reverse("job_place", args=[job.pk]), follow=True)
    page = unescape(answer.content.decode())
    assert "Job 1001 is placed on 4 crew days." in page
    days = part(page, "Days on the calendar")
    # As worked out in tests/db/test_placing.py: set on Tuesday till 13:30, no air written down.
    for words in (
        "Tue May 5, 2026",
        "Red crew",
        "13:30",
        "by rule",
        "Panels from Saturday 11:45: 94.25 h at a mean of 40 F",
        "Gates from Thursday May 14 14:00: 216.5 h at a mean of 40 F",
    ):
        assert words in days, words
    assert "Without a day" not in days
    block = CrewDay.objects.filter(job=job)[0]
    assert reverse("crew_day", args=[block.pk]) in days


def test_job_that_cannot_be_placed_says_why(as_office: Client, job: FenceJob) -> None:
    Clearance.objects.filter(site=job.site, kind="permit").update(state="asked")
    answer = as_office.post(reverse("job_place", args=[job.pk]))
    assert answer.status_code == 422
    page = unescape(answer.content.decode())
    assert (
        "Not placed. Job 1001: digging finds no day until Fri Jul 3, 2026. "
        "Permit: asked for, not here yet."
    ) in page
    assert not CrewDay.objects.exists()


def test_ticket_that_lapses_under_a_plan_is_pointed_out(as_office: Client, job: FenceJob) -> None:
    place_job(job=job, actor=None, now=NOW)
    assert "no longer holds" not in page_of(as_office, job)
    Clearance.objects.filter(site=job.site, kind="locate").update(expires_on=MONDAY)
    page = page_of(as_office, job)
    assert "The plan no longer holds" in page
    assert (
        "Job 1001: no digging on Tue May 5, 2026. "
        "Locate ticket NY-40117: ended on Mon May 4, 2026. Request a new one."
    ) in page


def test_phases_tell_hours_needed_placed_and_reported(as_office: Client, job: FenceJob) -> None:
    place_job(job=job, actor=None, now=NOW)
    row = next(
        each for each in part(page_of(as_office, job), "Phases").split("<tr>") if "Digging" in each
    )
    # 6.3 labour hours of two people.
    for words in ('"Labour hours">6.30', '"Crew hours">3.25', '"Placed ahead">3.25', "placed</"):
        assert words in row, words


def test_phase_with_fewer_hours_than_it_needs_is_told_short(
    as_office: Client, job: FenceJob
) -> None:
    place_job(job=job, actor=None, now=NOW)
    job.crew_days.filter(phase__kind="dig").update(hours=Decimal("2.50"))
    row = next(
        each for each in part(page_of(as_office, job), "Phases").split("<tr>") if "Digging" in each
    )
    # 3.25 h of the crew needed, 2.50 placed.
    assert "0.75 h short" in row


def needs_posts(job: FenceJob) -> JobPhase:
    phase = job.phases.get(kind="set")
    phase.needs_material = True
    phase.save()
    return phase


def test_missing_posts_bar_the_dig_and_are_mended_on_the_page_of_preparation(
    as_office: Client, job: FenceJob
) -> None:
    needs_posts(job)
    page = page_of(as_office, job)
    assert "May we dig? Not yet" in page
    assert "Material: no date promised." in page
    assert reverse("job_prepare", args=[job.pk]) in page
    rows = unescape(as_office.get(reverse("jobs")).content.decode())
    assert "Not placed: waits for material for the posts" in rows


def test_open_inspection_lets_the_crew_dig_and_not_pour(as_office: Client, job: FenceJob) -> None:
    FenceJob.objects.update(inspection_before_pour=True, inspection_booked_on=may(6))
    page = page_of(as_office, job)
    assert "May we dig? Yes, but fill no hole yet" in page
    assert "Booked for Wed May 6, 2026." in page
    FenceJob.objects.update(inspection_passed_on=MONDAY)
    assert "fill no hole yet" not in page_of(as_office, job)


def test_list_says_what_comes_next(as_office: Client, job: FenceJob, crew: Crew) -> None:
    def row() -> str:
        page = unescape(as_office.get(reverse("jobs")).content.decode())
        return page[page.index('data-label="Next"') :].split("</td>")[0]

    assert "Not placed" in row()
    put_on(job, "layout", crew, may(1))
    put_on(job, "dig", crew, may(6))
    put_on(job, "layout", crew, may(5))
    assert "Tue May 5: layout and string, Red crew" in row()
    CrewDay.objects.all().delete()
    job.phases.update(finished_on=MONDAY)
    assert "Built" in row()


def typed(job: FenceJob, **changes: str) -> dict[str, str]:
    """Return the form of preparation as the page sends it, with something changed."""
    values = {
        "crew-crew_note": "",
        "crew-mix": "standard",
        "crew-string_side": "left",
        "crew-string_offset_in": "1/4 in",
        "crew-string_height_in": "12 in",
        "inspection-booked_on": "",
        "inspection-passed_on": "",
    }
    for phase in job.phases.all():
        values |= {f"phase-{phase.pk}-promised_on": "", f"phase-{phase.pk}-received_on": ""}
    return values | changes


def test_office_prepares_a_job(as_office: Client, job: FenceJob) -> None:
    phase = job.phases.get(kind="set")
    sent = typed(
        job,
        **{
            f"phase-{phase.pk}-is_needed": "on",
            f"phase-{phase.pk}-promised_on": "2026-05-06",
            "inspection-is_needed": "on",
            "inspection-booked_on": "2026-05-07",
            "crew-crew_note": "Park on the street.",
            "crew-mix": "fast",
            "crew-string_side": "right",
            "crew-string_offset_in": "1/2",
            "crew-string_height_in": "1'",
        },
    )
    answer = as_office.post(reverse("job_prepare", args=[job.pk]), sent)
    assert answer.headers["Location"] == reverse("job", args=[job.pk])
    phase.refresh_from_db()
    job.refresh_from_db()
    assert (phase.needs_material, phase.material_promised_on) == (True, may(6))
    assert (job.inspection_before_pour, job.inspection_booked_on) == (True, may(7))
    assert (job.crew_note, job.mix) == ("Park on the street.", "fast")
    assert (job.string_side, job.string_offset_in, job.string_height_in) == ("right", 0.5, 12.0)
    page = page_of(as_office, job)
    assert "Park on the street." in page
    assert "promised for Wed May 6, 2026" in page
    # Posts come on Wednesday, so it is dug from Thursday on, and seen that day.
    place_job(job=job, actor=None, now=NOW)
    assert CrewDay.objects.get(phase__kind="dig").date == may(7)


def test_page_of_preparation_shows_the_town_s_own_words(as_office: Client, job: FenceJob) -> None:
    page = as_office.get(reverse("job_prepare", args=[job.pk])).content.decode()
    assert "Ask the building department." in page
    assert job.site is not None
    job.site.jurisdiction = make_jurisdiction(inspections="Footings before concrete: call 555-0190")
    job.site.save()
    page = as_office.get(reverse("job_prepare", args=[job.pk])).content.decode()
    assert "Footings before concrete: call 555-0190" in page
    assert "Town of Dunmere" in page


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"crew-string_offset_in": "half"}, "half"),
        ({"crew-string_height_in": "20 ft"}, "or less, not 20 ft"),
        ({"crew-mix": "magic"}, "magic"),
        ({"crew-crew_note": "<b>loud</b>"}, "Write plain words here"),
        ({"inspection-passed_on": "2026-05-05"}, "still to come"),
        ({"inspection-booked_on": "soon"}, "valid date"),
        ({"dates-closed_days": "Whitsun"}, "'Whitsun' is no day"),
        ({"dates-closed_days": "2026-06-09 to 2026-06-02"}, "the first day comes first"),
        ({"dates-promised_on": "2026-05-20", "dates-not_before": "2026-05-21"}, "promised for"),
        ({"dates-after_job": "itself"}, "A job can't wait for itself."),
        ({"phase-received_on": "2026-05-05"}, "still to come"),
        ({"phase-promised_on": "0026-05-05"}, "four digits"),
    ],
)
def test_slip_is_told_at_its_field_and_nothing_typed_is_lost(
    as_office: Client, job: FenceJob, changes: dict[str, str], words: str
) -> None:
    phase = job.phases.get(kind="gates")
    named = {name.replace("phase-", f"phase-{phase.pk}-"): value for name, value in changes.items()}
    if "dates-after_job" in named:
        named["dates-after_job"] = str(job.pk)
    kept = {f"phase-{phase.pk}-promised_on": "2026-05-20", "crew-crew_note": "Mind the roses."}
    answer = as_office.post(reverse("job_prepare", args=[job.pk]), typed(job, **(kept | named)))
    page = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert words in page
    assert 'aria-invalid="true"' in page
    (name, value) = next(iter(named.items()))
    assert f'name="{name}"' in page
    assert value in page or name == "crew-mix"
    assert "Mind the roses." in page or name == "crew-crew_note"
    job.refresh_from_db()
    phase.refresh_from_db()
    assert (job.crew_note, phase.material_promised_on, phase.needs_material) == ("", None, False)


@pytest.mark.parametrize(
    ("changed", "times"),
    [
        ({}, 0),
        ({"crew-crew_note": "Dog in the yard", "crew-string_height_in": "72"}, 0),
        ({"inspection-is_needed": "on"}, 2),
        ({"dates-not_before": "2026-05-20"}, 2),
    ],
)
def test_plan_is_built_only_for_what_may_move_it(
    as_office: Client, job: FenceJob, changed: dict[str, str], times: int
) -> None:
    """Before and after, to see what that moves."""
    address = reverse("job_prepare", args=[job.pk])
    assert as_office.post(address, typed(job)).status_code == 302
    with patch("scheduling.services.broken_blocks.plan_around", wraps=plan_around) as built:
        assert as_office.post(address, typed(job, **changed)).status_code == 302
    assert built.call_count == times


def test_job_that_is_over_is_not_prepared(as_office: Client, job: FenceJob) -> None:
    FenceJob.objects.update(state="finished", finished_at=NOW)
    answer = as_office.post(
        reverse("job_prepare", args=[job.pk]), typed(job, **{"crew-crew_note": "Late"})
    )
    assert answer.status_code == 422
    assert "Job 1001 is finished: nothing changes any more." in answer.content.decode()
    page = page_of(as_office, job)
    assert "/prepare/" not in page
    assert "/place/" not in page


@pytest.mark.parametrize("name", ["job_prepare", "job_place"])
def test_crew_leads_neither_prepare_nor_place(
    as_role: Callable[[Role | None], Client], job: FenceJob, name: str
) -> None:
    address = reverse(name, args=[job.pk])
    client = as_role(Role.CREW_LEAD)
    assert client.get(address).status_code == 403
    assert client.post(address, {}).status_code == 403
    assert not CrewDay.objects.exists()


def test_pages_ask_the_database_no_more_for_a_full_calendar(
    as_office: Client, job: FenceJob, crew: Crew
) -> None:
    place_job(job=job, actor=None, now=NOW)

    def queries(name: str) -> int:
        with CaptureQueriesContext(connection) as found:
            as_office.get(reverse(name, args=[job.pk]))
        return len(found)

    names = ("job", "job_prepare")
    few = [queries(name) for name in names]
    for number in range(2, 6):
        other = make_full_job(1000 + number, on=MONDAY)
        assert other.site is not None
        settle(other.site, on=MONDAY + DAY)
        place_job(job=other, actor=None, now=NOW)
    assert CrewDay.objects.count() > 20
    assert [queries(name) for name in names] == few
    # Session, person; job, clearances, answers, phases, reports, its days, jobs to wait for.
    assert few[1] <= 10
