"""The pages of jobs: may we dig, what stands in the way, and who sees which money."""

import datetime as dt
from collections.abc import Callable
from html import unescape
from typing import Any
from unittest.mock import patch

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from firm.models import Clearance, FirmProfile, JobSite, Role, User, UtilityAnswer
from scheduling.models import FenceJob
from tests.cast import make_person
from tests.crew_cast import give_to_crew_of
from tests.factories import NOW, make_customer, make_firm, make_site
from tests.job_cast import DAY, make_fence_job, settle
from tests.web.test_metric_firm import FEET, words_of

pytestmark = pytest.mark.django_db

TODAY = timezone.localdate()


@pytest.fixture
def site(db: None) -> JobSite:
    return make_site(access="Left gate, mind the step", gate_code="4417#", dog="Biscuit, friendly")


def page_of(client: Client, job: FenceJob) -> str:
    return unescape(client.get(reverse("job", args=[job.pk])).content.decode())


def send_crew_of_lead(job: FenceJob) -> None:
    """Put the job on a day of the crew that whoever has the role crew lead leads."""
    for lead in User.objects.filter(role=Role.CREW_LEAD):
        give_to_crew_of(lead, job, on=TODAY)


def answer_of(page: str) -> str:
    """Return the words of the answer on top, before the place."""
    return page[page.index("May we dig?") : page.index("Where and for whom")]


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 200), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_everyone_of_the_firm_reads_jobs(
    as_role: Callable[[Role | None], Client], site: JobSite, role: Role | None, status: int
) -> None:
    job, client = make_fence_job(site), as_role(role)
    send_crew_of_lead(job)
    assert client.get(reverse("jobs")).status_code == status
    assert client.get(reverse("job", args=[job.pk])).status_code == status


@pytest.mark.parametrize(
    ("role", "status", "state"),
    [
        (None, 302, "to_do"),
        (Role.CREW_LEAD, 403, "to_do"),
        (Role.OFFICE, 302, "called_off"),
        (Role.OWNER, 302, "called_off"),
    ],
)
def test_owner_and_office_call_jobs_off(
    as_role: Callable[[Role | None], Client],
    site: JobSite,
    role: Role | None,
    status: int,
    state: str,
) -> None:
    job = make_fence_job(site)
    address = reverse("job_call_off", args=[job.pk])
    assert as_role(role).post(address, {"reason": "Cancelled"}).status_code == status
    job.refresh_from_db()
    assert job.state == state


def test_owner_sees_price_and_margin_office_the_price_crew_lead_neither(
    as_role: Callable[[Role | None], Client], site: JobSite
) -> None:
    job = make_fence_job(site)
    clients = [as_role(role) for role in Role]
    send_crew_of_lead(job)
    owner, office, crew = (page_of(client, job) for client in clients)
    # 5,000.00 - 3,153.33 - 794.11 - 250.00 = 802.56; / 5,000.00 = 16.05 %.
    for words in ("$5,100.00", "$3,153.33", "$802.56, 16.1 %", "$378.00"):
        assert words in owner, words
    assert "$5,100.00" in office
    for words in ("$3,153.33", "802.56", "16.1", "378.00", "Labour cost", "Margin"):
        assert words not in office, words
    assert "$" not in crew
    assert "6.30" in crew


def test_list_shows_crew_leads_no_prices(
    as_role: Callable[[Role | None], Client], site: JobSite
) -> None:
    job, address = make_fence_job(site), reverse("jobs")
    assert "$5,100.00" in as_role(Role.OFFICE).get(address).content.decode()
    client = as_role(Role.CREW_LEAD)
    send_crew_of_lead(job)
    page = client.get(address).content.decode()
    assert job.title in page
    assert "$" not in page


def test_crew_lead_sees_only_the_jobs_of_their_own_crews(
    as_role: Callable[[Role | None], Client], site: JobSite
) -> None:
    client = as_role(Role.CREW_LEAD)
    own, foreign = make_fence_job(site, title="Own work"), make_fence_job(site, number=1002)
    send_crew_of_lead(own)
    stranger = make_person(Role.CREW_LEAD, username="other lead")
    give_to_crew_of(stranger, foreign, on=TODAY)
    page = client.get(reverse("jobs")).content.decode()
    assert "Own work" in page
    assert foreign.title not in page
    assert client.get(reverse("job", args=[own.pk])).status_code == 200
    assert client.get(reverse("job", args=[foreign.pk])).status_code == 404


def test_crew_lead_is_offered_nothing_they_may_not_open(
    as_role: Callable[[Role | None], Client], site: JobSite
) -> None:
    settle(site, on=TODAY, but=["permit"])
    client, job = as_role(Role.CREW_LEAD), make_fence_job(site)
    send_crew_of_lead(job)
    page = page_of(client, job)
    assert "May we dig? Not yet" in page
    office_only = ("/call-off/", "/prepare/", "/place/", "/crew-days/")
    for forbidden in ("/proposals/", "/clearances/", "/customers/", *office_only):
        assert forbidden not in page, forbidden


def test_job_with_everything_settled_may_be_dug(as_office: Client, site: JobSite) -> None:
    settle(site, on=TODAY)
    job = make_fence_job(site)
    page = page_of(as_office, job)
    assert "May we dig? Yes" in page
    assert "Not yet" not in page
    assert "not yet" not in page
    rows = as_office.get(reverse("jobs")).content.decode()
    assert '<span class="badge badge-ok">Yes</span>' in rows


def test_nothing_is_dug_while_the_customer_may_cancel(as_office: Client, site: JobSite) -> None:
    settle(site, on=dt.date(2026, 5, 7))
    ends = dt.datetime(2026, 5, 8, 3, 59, 59, tzinfo=dt.UTC)
    job = make_fence_job(site, cancellation_ends_at=ends)
    with patch("django.utils.timezone.now", return_value=ends - dt.timedelta(seconds=1)):
        answer = answer_of(page_of(as_office, job))
        assert "Not yet" in answer
        assert "The customer may still cancel." in answer
        # The last moment is in the night from Thursday, 7 May, in New York.
        assert "over from Fri May 8, 2026 on" in answer
        assert reverse("proposal", args=[job.proposal_id]) in answer
    with patch("django.utils.timezone.now", return_value=ends + dt.timedelta(seconds=1)):
        assert "Yes" in answer_of(page_of(as_office, job))


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("deposit", "Deposit: not asked for yet."),
        ("pins", "Property line: not asked for yet."),
        ("easement", "Right of way and easements: not asked for yet."),
        ("permit", "Permit: not asked for yet."),
        ("association", "Association approval: not asked for yet."),
        ("locate", "Locate ticket: not asked for yet."),
    ],
)
def test_the_one_thing_that_is_missing_is_named_with_a_way_to_mend_it(
    as_office: Client, site: JobSite, kind: str, words: str
) -> None:
    settle(site, on=TODAY, but=[kind])
    answer = answer_of(page_of(as_office, make_fence_job(site)))
    assert "Not yet" in answer
    assert words in answer
    row = Clearance.objects.get(site=site, kind=kind)
    assert reverse("clearance_edit", args=[row.pk]) in answer
    assert words in unescape(as_office.get(reverse("jobs")).content.decode())


@pytest.mark.parametrize(
    ("changes", "answer_given", "words"),
    [
        ({"expires_on": TODAY - DAY}, "marked", "ended on"),
        ({"clear_on": TODAY + DAY}, "marked", "no digging before"),
        ({"state": "asked"}, "waiting", "no answer yet from Gas"),
        ({}, "conflict", "Gas must be talked to first"),
        ({"state": "refused"}, "marked", "refused"),
    ],
)
def test_ticket_that_does_not_hold_today_bars_the_dig(
    as_office: Client, site: JobSite, changes: dict[str, Any], answer_given: str, words: str
) -> None:
    settle(site, on=TODAY - 2 * DAY)
    Clearance.objects.filter(kind="locate").update(**changes)
    UtilityAnswer.objects.update(answer=answer_given)
    answer = answer_of(page_of(as_office, make_fence_job(site)))
    assert "Not yet" in answer
    assert words in answer


def test_clearance_nobody_wrote_down_can_be_added_from_the_job(
    as_office: Client, site: JobSite
) -> None:
    settle(site, on=TODAY)
    Clearance.objects.filter(kind="association").delete()
    answer = answer_of(page_of(as_office, make_fence_job(site)))
    assert "Association approval: not asked for yet." in answer
    assert reverse("clearance_add", args=[site.pk]) in answer


def test_one_of_two_permits_that_is_open_bars_the_dig(as_office: Client, site: JobSite) -> None:
    settle(site, on=TODAY)
    Clearance.objects.create(site=site, kind="permit", number="P-2", state="asked")
    answer = answer_of(page_of(as_office, make_fence_job(site)))
    assert "Permit P-2: asked for, not here yet." in answer
    assert reverse("site", args=[site.pk]) in answer


def test_page_tells_the_way_the_gate_code_the_dog_and_shows_the_plan(
    as_role: Callable[[Role | None], Client], site: JobSite
) -> None:
    client, job = as_role(Role.CREW_LEAD), make_fence_job(site)
    send_crew_of_lead(job)
    page = page_of(client, job)
    for words in ("Left gate, mind the step", "4417#", "Biscuit", "tel:555-0117"):
        assert words in page, words
    assert 'href="geo:0,0?q=4%20Larch%20Court%2C%20Dunmere"' in page
    assert '<a class="btn" href="#plan">' in page
    assert "<svg" in page[page.index('id="plan"') :]


def test_metric_firm_sees_no_feet_on_a_job(as_office: Client) -> None:
    make_firm(units=FirmProfile.Units.METRIC)
    page = page_of(as_office, make_fence_job(make_site(access_width_in=36)))
    words = words_of(page)
    # 36 x 25.4 = 914.4; the line is 384 x 25.4 = 9753.6 long.
    assert "914 mm at the narrowest" in words
    assert "9.754 m" in words
    assert not FEET.search(words)


def test_job_without_a_site_says_so_and_is_not_cleared(as_office: Client) -> None:
    job = make_fence_job()
    FenceJob.objects.filter(pk=job.pk).update(site=None)
    page = page_of(as_office, job)
    assert "None is written down for this job." in page
    assert "Not yet" in answer_of(page)


def test_job_without_holes_says_so(as_office: Client, site: JobSite) -> None:
    job = make_fence_job(site)
    assert "No holes are counted" not in page_of(as_office, job)
    job.phases.update(kind="extra")
    assert "No holes are counted" in page_of(as_office, job)


def test_job_whose_posts_stand_asks_no_more_whether_to_dig(
    as_office: Client, site: JobSite
) -> None:
    job = make_fence_job(site)
    job.phases.update(finished_on=TODAY)
    page = page_of(as_office, job)
    assert "The posts stand" in page
    assert "May we dig?" not in page
    assert "Posts stand" in as_office.get(reverse("jobs")).content.decode()


def test_finished_job_says_so_and_warns_of_the_old_ticket(as_office: Client, site: JobSite) -> None:
    job = make_fence_job(site, state=FenceJob.State.FINISHED, finished_at=NOW)
    page = page_of(as_office, job)
    assert "Finished" in page
    assert "a new locate ticket is needed" in page
    assert "May we dig?" not in page


def test_second_open_job_of_the_same_number_is_pointed_out(
    as_office: Client, site: JobSite
) -> None:
    job = make_fence_job(site)
    twin = make_fence_job(site, number=1002)
    assert "another open job" not in page_of(as_office, job)
    FenceJob.objects.filter(pk=twin.pk).update(number=1001, revision=1)
    assert "Job 1001-1" in answer_of(page_of(as_office, job))


def test_job_called_off_says_why_and_leaves_the_list(as_office: Client, site: JobSite) -> None:
    settle(site, on=TODAY)
    job = make_fence_job(site)
    address = reverse("job_call_off", args=[job.pk])
    page = as_office.post(address, {"reason": "Sold the house"}, follow=True).content.decode()
    assert "Sold the house" in page
    assert "Dig nothing here." in page
    assert "May we dig?" not in page
    assert job.title not in as_office.get(reverse("jobs")).content.decode()
    assert job.title in as_office.get(reverse("jobs") + "?state=called_off").content.decode()


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        ("", "This field is required."),
        ("<script>x</script> moved", "Write plain words here"),
        ("x" * 301, "at most 300 characters"),
    ],
)
def test_slip_in_the_reason_is_told_at_its_field_and_nothing_is_lost(
    as_office: Client, site: JobSite, reason: str, words: str
) -> None:
    job = make_fence_job(site)
    answer = as_office.post(reverse("job_call_off", args=[job.pk]), {"reason": reason})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    assert 'aria-invalid="true"' in page
    assert reason in unescape(page)
    job.refresh_from_db()
    assert job.state == FenceJob.State.TO_DO


def test_second_calling_off_is_refused_in_words(as_office: Client, site: JobSite) -> None:
    job = make_fence_job(site)
    address = reverse("job_call_off", args=[job.pk])
    as_office.post(address, {"reason": "Sold the house"})
    assert as_office.post(address, {"reason": "Again"}).status_code == 422
    job.refresh_from_db()
    assert job.called_off_reason == "Sold the house"


def test_nonsense_in_the_address_shows_the_jobs_to_be_done(
    as_office: Client, site: JobSite
) -> None:
    job = make_fence_job(site)
    for query in ("?state=x", "?page=x", "?page=99"):
        assert job.title in as_office.get(reverse("jobs") + query).content.decode(), query


def test_empty_list_says_where_jobs_come_from(as_office: Client) -> None:
    page = as_office.get(reverse("jobs")).content.decode()
    assert "A proposal becomes a job when the customer accepts it." in page


def test_jobs_stand_in_everyones_navigation(as_role: Callable[[Role | None], Client]) -> None:
    for role in Role:
        page = as_role(role).get(reverse("jobs")).content.decode()
        assert '<a href="/jobs/" aria-current="page">Jobs</a>' in page, role


def test_list_asks_the_database_a_fixed_number_of_times(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(8):
        site = make_site(make_customer(name=f"Customer {number}"))
        settle(site, on=NOW.date())
        make_fence_job(site, number=1001 + number)
    # Session, person; count, jobs with customer and site, clearances, their answers, phases; the
    # next days.
    with django_assert_num_queries(8):
        as_office.get(reverse("jobs"))
