"""The pages of a job's end: whose they are, what they refuse, and that they show no prices."""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from estimating.models import Invoice
from firm.models import Role, User
from scheduling.models import Completion, FenceJob, PunchItem
from scheduling.services.completion import add_punch_item
from tests.cast import make_person
from tests.crew_cast import give_to_crew_of
from tests.factories import NOW, make_site
from tests.money_cast import TODAY, draft_change, make_contract
from tests.web.answers import body_of

pytestmark = pytest.mark.django_db
AsRole = Callable[[Role | None], Client]
PRICE = re.compile(r"\$\s?\d")


@pytest.fixture
def job() -> FenceJob:
    row = FenceJob.objects.get(proposal=make_contract())
    row.phases.update(finished_on=TODAY)
    return row


@pytest.fixture
def lead(job: FenceJob) -> User:
    person = make_person(Role.CREW_LEAD)
    give_to_crew_of(person, job)
    return person


@pytest.fixture
def as_lead(lead: User) -> Client:
    client = Client()
    client.force_login(lead)
    return client


def page_of(job: FenceJob) -> str:
    return reverse("job_finish", args=[job.pk])


def signed(**changes: Any) -> dict[str, Any]:
    return {
        "signed_name": "Wren Halloway",
        "strokes": "[[[10,20],[300,400]]]",
        "remarks": "Well built",
    } | changes


def test_pages_belong_to_the_job_s_crew_and_the_office(
    as_role: AsRole, job: FenceJob, as_lead: Client
) -> None:
    item = add_punch_item(job=job, text="Cap", post_number=None, actor=None, now=NOW)
    page, tick = page_of(job), reverse("punch_tick", args=[job.pk, item.pk])
    stranger, other = as_role(None), Client()
    other.force_login(make_person(Role.CREW_LEAD, username="other_lead"))
    posts = (page, tick, reverse("punch_add", args=[job.pk]))
    for address in posts:
        assert stranger.post(address).headers["Location"].startswith(reverse("login"))
        assert other.post(address, signed(text="Mine")).status_code == 404
    for address in (page, reverse("job_completion_pdf", args=[job.pk])):
        assert stranger.get(address).headers["Location"].startswith(reverse("login"))
        assert other.get(address).status_code == 404
    assert not Completion.objects.exists()
    assert PunchItem.objects.get().done_at is None
    for mine in (as_lead, as_role(Role.OFFICE), as_role(Role.OWNER)):
        assert mine.get(page).status_code == 200


def test_crew_lead_finishes_the_job_and_sees_no_price(as_lead: Client, job: FenceJob) -> None:
    page = page_of(job)
    before = as_lead.get(page).content.decode()
    answer = as_lead.post(page, signed(), follow=True)
    after = answer.content.decode()
    assert "The office sends the balance." in after
    assert "M10 8 L300 160" in after
    assert 'viewBox="0 0 1000 400"' in after
    assert not PRICE.search(before + after)
    assert reverse("contract_money", args=[job.proposal_id]) not in after
    assert Invoice.objects.get().kind == "balance"
    pdf = as_lead.get(reverse("job_completion_pdf", args=[job.pk]))
    assert body_of(pdf).startswith(b"%PDF-")
    # A second send finds the job finished.
    again = as_lead.post(page, signed())
    assert again.status_code == 422
    assert "finished already" in again.content.decode()


def test_office_sees_the_way_to_the_balance(as_office: Client, job: FenceJob) -> None:
    answer = as_office.post(page_of(job), signed(strokes=""), follow=True)
    shown = answer.content.decode()
    assert "Signed by typing the name." in shown
    assert reverse("contract_money", args=[job.proposal_id]) in shown


@pytest.mark.parametrize(
    "strokes",
    ["{", "[[[1,2]", "null", '"Wren"', "[[[1,2,3]]]", "[[[1,1001]]]", "[[[1.5,2]]]", "x" * 200_000],
    ids=lambda text: text[:12],
)
def test_strokes_that_are_none_are_refused_and_the_rest_is_kept(
    as_lead: Client, job: FenceJob, strokes: str
) -> None:
    answer = as_lead.post(page_of(job), signed(strokes=strokes))
    assert answer.status_code == 422
    shown = answer.content.decode()
    assert "Clear it and sign again." in shown
    assert 'value="Wren Halloway"' in shown
    assert "Well built" in shown
    assert not Completion.objects.exists()


def test_too_many_points_are_refused(as_lead: Client, job: FenceJob) -> None:
    for strokes in ([[[0, 0]] * 5001], [[[0, 0]]] * 201):
        answer = as_lead.post(page_of(job), signed(strokes=json.dumps(strokes)))
        assert answer.status_code == 422
        assert "too many lines" in answer.content.decode()


def test_name_that_is_missing_keeps_the_drawing(as_lead: Client, job: FenceJob) -> None:
    answer = as_lead.post(page_of(job), signed(signed_name=""))
    assert answer.status_code == 422
    assert 'value="[[[10,20],[300,400]]]"' in answer.content.decode()


def test_what_is_open_is_told_and_may_be_left_for_later(as_lead: Client, job: FenceJob) -> None:
    add = reverse("punch_add", args=[job.pk])
    as_lead.post(add, {"text": "Cap missing", "post_number": "7"})
    answer = as_lead.post(page_of(job), signed())
    assert answer.status_code == 422
    assert "Still to be put right: Cap missing." in answer.content.decode()
    as_lead.post(page_of(job), signed(leaves_open="on"))
    job.refresh_from_db()
    assert job.state == "finished"
    shown = as_lead.get(page_of(job)).content.decode()
    assert "- Cap missing (post 7)" in shown
    item = PunchItem.objects.get()
    as_lead.post(reverse("punch_tick", args=[job.pk, item.pk]), {"done": "on"})
    assert "<del>Cap missing</del>" in as_lead.get(page_of(job)).content.decode()
    as_lead.post(reverse("punch_tick", args=[job.pk, item.pk]))
    assert "<del>" not in as_lead.get(page_of(job)).content.decode()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"text": ""}, "Write down what is to be put right."),
        ({"text": "<script>x</script>"}, "plain words"),
        ({"text": "Cap", "post_number": "0"}, "greater than or equal to 1"),
        ({"text": "Cap", "post_number": "seven"}, "Enter a whole number."),
        ({"text": "Cap", "post_number": "10000"}, "so many posts"),
    ],
)
def test_item_with_a_slip_is_refused_and_kept(
    as_lead: Client, job: FenceJob, typed: dict[str, str], said: str
) -> None:
    answer = as_lead.post(reverse("punch_add", args=[job.pk]), typed)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not PunchItem.objects.exists()


def test_item_of_another_job_is_not_found(as_lead: Client, job: FenceJob) -> None:
    other = FenceJob.objects.get(proposal=make_contract(number=1002, site=make_site()))
    item = add_punch_item(job=other, text="Cap", post_number=None, actor=None, now=NOW)
    assert as_lead.post(reverse("punch_tick", args=[job.pk, item.pk])).status_code == 404


def test_statement_that_changed_meanwhile_is_shown_anew(as_lead: Client, job: FenceJob) -> None:
    seen = re.search(r'name="seen" value="(\w{64})"', as_lead.get(page_of(job)).content.decode())
    assert seen is not None
    add_punch_item(job=job, text="Latch drags", post_number=None, actor=None, now=NOW)
    answer = as_lead.post(page_of(job), signed(leaves_open="on", seen=seen[1]))
    assert answer.status_code == 422
    shown = answer.content.decode()
    assert "Read the statement again." in shown
    assert "- Latch drags" in shown
    again = re.search(r'name="seen" value="(\w{64})"', shown)
    assert again is not None
    as_lead.post(page_of(job), signed(leaves_open="on", seen=again[1]))
    assert Completion.objects.exists()


def test_unfinished_phases_are_named(as_lead: Client, job: FenceJob) -> None:
    job.phases.update(finished_on=None)
    answer = as_lead.post(page_of(job), signed())
    assert answer.status_code == 422
    assert "Not finished yet: Digging." in answer.content.decode()
    as_lead.post(page_of(job), signed(ends_phases="on"))
    job.refresh_from_db()
    assert job.state == "finished"


def test_called_off_job_is_not_finished(as_office: Client, job: FenceJob) -> None:
    FenceJob.objects.update(
        state="called_off", called_off_at=NOW, called_off_reason="Cancelled in writing"
    )
    shown = as_office.get(page_of(job)).content.decode()
    assert "Cancelled in writing" in shown
    assert "The customer signs" not in shown
    assert as_office.post(page_of(job), signed()).status_code == 422
    answer = as_office.post(reverse("punch_add", args=[job.pk]), {"text": "Cap"})
    assert answer.status_code == 422
    assert as_office.get(reverse("job_completion_pdf", args=[job.pk])).status_code == 404


def test_change_that_nobody_signed_is_told_before_the_end(as_lead: Client, job: FenceJob) -> None:
    draft_change(job.proposal)
    shown = as_lead.get(page_of(job)).content.decode()
    assert "Nobody has signed change order 1, A lock on the gate" in shown
    assert reverse("change_sign", args=[job.pk, 1]) in shown
    assert not PRICE.search(shown)
    # Told, not barred: the customer may have said no and the office not yet written it down.
    assert as_lead.post(page_of(job), signed()).status_code == 302


def test_page_takes_the_same_queries_for_one_item_and_for_many(
    as_office: Client, job: FenceJob, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(12):
        add_punch_item(job=job, text=f"Cap {number}", post_number=number, actor=None, now=NOW)
    with django_assert_max_num_queries(10):
        as_office.get(page_of(job))
