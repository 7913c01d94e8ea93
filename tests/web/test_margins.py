"""The pages of margins and costs: the figures, who sees them, and slips at their fields."""

from collections.abc import Callable
from html import unescape
from unittest.mock import patch

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from estimating.models import Estimate
from firm.models import AuditEntry, Role, User
from scheduling.models import Crew, DayReport, FenceJob, JobCost
from tests.factories import NOW, make_customer, make_firm, make_site
from tests.job_cast import DAY, make_fence_job
from tests.margin_world import (
    DAY_1,
    EVENING_1,
    finish_worked_job,
    make_worked_job,
    spend,
    work,
)

pytestmark = pytest.mark.django_db
RECEIPT = {
    "kind": "material",
    "description": "Posts and caps",
    "supplier": "Dunmere Supply",
    "amount": "$1,250.40",
    "spent_on": "2026-05-11",
}


@pytest.fixture
def job(owner: User) -> FenceJob:
    make_firm()
    return make_worked_job(owner)


def page_of(client: Client, name: str, *arguments: int) -> str:
    with patch("django.utils.timezone.now", return_value=EVENING_1):
        return unescape(client.get(reverse(name, args=arguments)).content.decode())


@pytest.mark.parametrize(
    ("role", "margins", "costs"),
    [
        (None, 302, 302),
        (Role.CREW_LEAD, 403, 403),
        (Role.OFFICE, 403, 200),
        (Role.OWNER, 200, 200),
    ],
)
def test_margins_are_the_owners_costs_the_offices_too(
    as_role: Callable[[Role | None], Client],
    job: FenceJob,
    role: Role | None,
    margins: int,
    costs: int,
) -> None:
    client, cost = as_role(role), job.costs.all()[0]
    assert client.get(reverse("margins")).status_code == margins
    assert client.get(reverse("job_margin", args=[job.pk])).status_code == margins
    assert client.get(reverse("job_costs", args=[job.pk])).status_code == costs
    assert client.get(reverse("job_cost_edit", args=[cost.pk])).status_code == costs


@pytest.mark.parametrize("name", ["job_margin", "job_costs", "job_cost_edit"])
def test_what_is_not_there_is_not_found(as_owner: Client, name: str) -> None:
    assert as_owner.get(reverse(name, args=[987654])).status_code == 404


def test_owner_reads_the_answer_at_a_glance(as_owner: Client, job: FenceJob) -> None:
    page = page_of(as_owner, "job_margin", job.pk)
    answer = page[page.index("Margin as it looks today") : page.index("Labour by phase")]
    for words in (
        "-$328.19",
        "-6.2 % of the price",
        "$486.12",
        "9.2 % of the price",
        "-$174.65",
        "estimated $343.00",
        "$5,300.00",
        "+$300.00 of it by 1 signed change",
        "Digging costs $840.84 more than estimated, with the overhead it carries: "
        "14.58 h instead of 6.75 h.",
        # 1,691.23 - 1,275.55.
        "Overhead moves with all hours and costs together: +$415.68.",
        "4 of 5 posts are set; 18 of 20 bags are used.",
        "Payments written down: $0.00. Material bought or ordered: $1,364.50.",
    ):
        assert words in answer, words


def test_tables_and_drawing_say_the_same_figures(as_owner: Client, job: FenceJob) -> None:
    page = page_of(as_owner, "job_margin", job.pk)
    for words in (
        "4 of 5 posts set; the other 1 at the same rate.",
        '<span>$805.00<span class="basis">14.58 h</span></span>',
        "<span>+$400.22</span>",
        "The estimate and 3 more bags than planned, at $5.35.",
        '<td class="number" data-label="Forecast">$3,671.96</td>',
        '<td class="number" data-label="Forecast">$1,691.23</td>',
        'role="img" aria-label="Digging: $805.00, estimated $404.78"',
    ):
        assert words in page, words
    # To the scale of the largest, 805.00 on 200: the estimate's post at 404.78 / 805 x 200 =
    # 100.57, and as much beyond it.
    assert '<rect class="rail-planned" x="0" y="8" width="100" height="8">' in page
    assert '<rect class="rail-over" x="100" y="4" width="100" height="16">' in page
    assert 'style="' not in page


def test_finished_job_says_what_it_left(as_owner: Client, job: FenceJob, owner: User) -> None:
    finish_worked_job(job, owner)
    page = page_of(as_owner, "job_margin", job.pk)
    assert "-$577.90" in page
    assert "In the end" in page
    assert "as it looks today" not in page


def test_job_called_off_earns_nothing(as_owner: Client, job: FenceJob) -> None:
    FenceJob.objects.filter(pk=job.pk).update(
        state="called_off", called_off_at=NOW, called_off_reason="Moved away"
    )
    page = page_of(as_owner, "job_margin", job.pk)
    assert "No price is earned here. $2,594.50 was spent on it so far" in page


def test_list_of_margins(as_owner: Client, job: FenceJob) -> None:
    make_fence_job(make_site(), number=1002)
    page = page_of(as_owner, "margins")
    assert page.index("1001, Privacy fence") < page.index("1002, Privacy fence")
    for words in ("-6.2 %", "9.2 %", "-$174.65", "1 sign to look at", "16.1 %"):
        assert words in page, words


def test_list_without_jobs_says_where_they_come_from(as_owner: Client) -> None:
    assert "A proposal becomes a job" in page_of(as_owner, "margins")


def test_job_without_price_or_rules_still_has_its_page(as_owner: Client) -> None:
    job = make_fence_job(price_before_tax=0)
    Estimate.objects.update(catalog={})
    page = page_of(as_owner, "margins")
    assert "no price" in page
    assert "not known" in page
    page = page_of(as_owner, "job_margin", job.pk)
    assert "Crew-days" not in page
    assert "% of the price" not in page


def test_jobs_page_shows_the_owner_the_forecast_the_office_costs_the_crew_nothing(
    as_role: Callable[[Role | None], Client], job: FenceJob
) -> None:
    lead = as_role(Role.CREW_LEAD)
    Crew.objects.update(lead=User.objects.get(role=Role.CREW_LEAD))
    owner, office, crew = (
        page_of(client, "job", job.pk)
        for client in (as_role(Role.OWNER), as_role(Role.OFFICE), lead)
    )
    assert "-$328.19, -6.2 % of the price" in owner
    assert reverse("job_margin", args=[job.pk]) in owner
    assert reverse("job_costs", args=[job.pk]) in office
    for words in ("328.19", "486.12", "Margin", "margin", "-6.2", "Digging costs"):
        assert words not in office, words
    for words in ("$", "argin", "/costs/"):
        assert words not in crew, words


def test_costs_page_shows_the_office_no_margin(
    as_role: Callable[[Role | None], Client], job: FenceJob
) -> None:
    owner = page_of(as_role(Role.OWNER), "job_costs", job.pk)
    office = page_of(as_role(Role.OFFICE), "job_costs", job.pk)
    for words in ("$1,400.00", "-$35.50", "$312.00", "$1,676.50"):
        assert words in office, words
    assert "argin" not in office.replace("margin.css", "")
    assert reverse("job_margin", args=[job.pk]) in owner


def test_only_the_owner_is_shown_the_way_to_the_margins(
    as_role: Callable[[Role | None], Client],
) -> None:
    pages = [page_of(as_role(role), "jobs") for role in Role]
    assert [reverse("margins") in page for page in pages] == [role == Role.OWNER for role in Role]


def test_margins_and_receipts_lie_under_jobs(as_owner: Client, job: FenceJob) -> None:
    cost = job.costs.all()[0]
    for page in (page_of(as_owner, "margins"), page_of(as_owner, "job_cost_edit", cost.pk)):
        assert '<a href="/jobs/" aria-current="true">Jobs</a>' in page


def test_receipt_is_written_down(as_office: Client, job: FenceJob) -> None:
    address = reverse("job_cost_add", args=[job.pk])
    answer = as_office.post(address, RECEIPT, follow=True)
    assert "Posts and caps is written down." in answer.content.decode()
    cost = job.costs.get(description="Posts and caps")
    assert (str(cost.amount), str(cost.spent_on)) == ("1250.40", "2026-05-11")
    assert cost.recorded_by is not None
    assert cost.recorded_by.role == Role.OFFICE


def test_receipt_sent_twice_is_written_down_once(as_office: Client, job: FenceJob) -> None:
    address, before = reverse("job_cost_add", args=[job.pk]), JobCost.objects.count()
    assert as_office.post(address, RECEIPT).status_code == 302
    again = as_office.post(address, RECEIPT)
    assert again.status_code == 422
    assert "written down a moment ago" in again.content.decode()
    assert as_office.post(address, RECEIPT | {"supplier": "Elsewhere"}).status_code == 302
    assert JobCost.objects.count() == before + 2


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"amount": ""}, "This field is required."),
        ({"amount": "lots"}, "Type an amount such as 1250.00."),
        ({"amount": "0"}, "Type what it cost; goods given back with a minus."),
        ({"amount": "99999999"}, "less than or equal to 1000000"),
        ({"description": "<b>Posts</b>"}, "Write plain words here"),
        ({"description": ""}, "This field is required."),
        ({"spent_on": "0026-05-11"}, "The year 26 can't be right"),
        ({"spent_on": "2099-05-11"}, "A receipt can't be of a day to come."),
        ({"kind": "bribe"}, "Select a valid choice"),
    ],
)
def test_slip_in_a_receipt_is_told_at_its_field_and_nothing_is_lost(
    as_office: Client, job: FenceJob, changes: dict[str, str], words: str
) -> None:
    cost = job.costs.all()[0]
    before = list(JobCost.objects.values())
    for name, pk in (("job_cost_add", job.pk), ("job_cost_edit", cost.pk)):
        answer = as_office.post(reverse(name, args=[pk]), RECEIPT | changes)
        page = unescape(answer.content.decode())
        assert answer.status_code == 422
        assert words in page
        assert 'aria-invalid="true"' in page
        for typed in (RECEIPT | changes)["supplier"], (RECEIPT | changes)["description"]:
            assert typed in page
    assert list(JobCost.objects.values()) == before


def test_receipt_is_corrected_and_the_record_keeps_what_stood_there(
    as_office: Client, job: FenceJob
) -> None:
    cost = job.costs.get(amount="1400")
    address = reverse("job_cost_edit", args=[cost.pk])
    answer = as_office.post(address, RECEIPT)
    assert answer.headers["Location"] == reverse("job_costs", args=[job.pk])
    cost.refresh_from_db()
    assert str(cost.amount) == "1250.40"
    assert AuditEntry.objects.get(action="corrected a cost of a job").before["amount"] == "1400.00"


def test_pages_ask_the_database_a_fixed_number_of_times(
    as_owner: Client,
    owner: User,
    job: FenceJob,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    # Session and person; the 14 of a margin, as tests/db/test_margins.py counts them.
    with django_assert_num_queries(16):
        as_owner.get(reverse("job_margin", args=[job.pk]))
    with django_assert_num_queries(16):
        as_owner.get(reverse("margins"))
    # Session and person; job, receipts.
    with django_assert_num_queries(4):
        as_owner.get(reverse("job_costs", args=[job.pk]))
    crew = Crew.objects.get()
    for number in range(49):
        site = make_site(make_customer(name=f"Customer {number}"))
        more = make_fence_job(site, number=1100 + number)
        report = DayReport.objects.create(
            job=more, crew=crew, date=DAY_1, reported_at=timezone.now()
        )
        work(report, crew.members.all()[0], "08:00", "09:00")
        spend(job, "material", f"{number + 1}", owner, on=DAY_1 + DAY)
    with django_assert_num_queries(16):
        assert "1148" in as_owner.get(reverse("margins")).content.decode()
    with django_assert_num_queries(4):
        as_owner.get(reverse("job_costs", args=[job.pk]))
