"""The pages of change orders: the office's own, and the customer's signature at the site."""

import datetime as dt
import io
import json
from collections.abc import Callable
from decimal import Decimal
from html import unescape
from typing import Any

import pypdf
import pytest
from django.http.response import HttpResponseBase
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from estimating.models import ChangeOrder, Proposal
from estimating.services.change_orders import ChangeText, add_change_order, fingerprint
from firm.models import AuditEntry, Role, User
from scheduling.models import Crew, DayReport, FenceJob, PostRecord
from tests.cast import make_person
from tests.crew_cast import give_to_crew_of
from tests.factories import NOW, TODAY, make_firm
from tests.job_cast import make_fence_job
from tests.web.answers import body_of

pytestmark = pytest.mark.django_db
TEXT = {
    "title": "A lock on the gate",
    "description": "Keyed alike.",
    "price_before_tax": "120.00",
    "extra_days": "",
    "direct_cost": "",
    "labor_hours": "",
}
ACTS: dict[str, dict[str, str]] = {
    "change_order": TEXT,
    "change_order_drop": {},
    "change_order_decline": {"note": "Too dear"},
}


@pytest.fixture
def job(db: None) -> FenceJob:
    make_firm(rock_hole_price=Decimal("95.00"))
    return make_fence_job()


@pytest.fixture
def lead(job: FenceJob) -> User:
    person = make_person(Role.CREW_LEAD)
    give_to_crew_of(person, job)
    return person


@pytest.fixture
def phone(lead: User) -> Client:
    client = Client()
    client.force_login(lead)
    return client


def draft(job: FenceJob, **changes: Any) -> ChangeOrder:
    values: dict[str, Any] = {
        "title": "A lock on the gate",
        "description": "Keyed alike.",
        "price_before_tax": Decimal("120.00"),
        "extra_days": 1,
    }
    return add_change_order(
        proposal_id=job.proposal_id, text=ChangeText(**(values | changes)), actor=None, now=NOW
    )


def page_of(answer: HttpResponseBase) -> str:
    return unescape(body_of(answer).decode())


def at(name: str, *args: int) -> str:
    return reverse(name, args=args)


def test_list_says_what_the_contract_comes_to(as_office: Client, job: FenceJob) -> None:
    draft(job, title="Not signed yet", price_before_tax=Decimal(999))
    ChangeOrder.objects.create(
        proposal_id=job.proposal_id,
        number=2,
        title="Signed before",
        state="signed",
        signed_name="Wren",
        decided_at=NOW,
        price_before_tax=Decimal("-100.00"),
        created_at=NOW,
    )
    page = page_of(as_office.get(at("change_orders", job.proposal_id)))
    # 5,100.00 - 100.00; the draft is no part of it.
    for words in ("$5,100.00", "-$100.00", "$5,000.00", "Not signed yet", "$999.00"):
        assert words in page, words


def test_office_drafts_edits_and_drops_one(as_office: Client, job: FenceJob) -> None:
    answer = as_office.post(at("change_order_new", job.proposal_id), TEXT)
    order = ChangeOrder.objects.get()
    assert answer.headers["Location"] == at("change_order", order.pk)
    page = page_of(as_office.get(at("change_order", order.pk)))
    assert "$5,220.00" in page
    edited = TEXT | {"title": "Two locks", "price_before_tax": "-$1,020.50", "labor_hours": "-1.5"}
    assert as_office.post(at("change_order", order.pk), edited).status_code == 302
    order.refresh_from_db()
    assert (order.title, order.price_before_tax) == ("Two locks", Decimal("-1020.50"))
    assert order.labor_hours == Decimal("-1.50")
    assert as_office.post(at("change_order_drop", order.pk)).status_code == 302
    order.refresh_from_db()
    assert order.state == "dropped"
    assert "It stays in the list" not in page_of(as_office.get(at("change_order", order.pk)))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"title": ""}, "required"),
        ({"title": "<script>x"}, "plain words"),
        ({"title": "t" * 121}, "at most 120"),
        ({"price_before_tax": ""}, "required"),
        ({"price_before_tax": "much"}, "Type an amount"),
        ({"price_before_tax": "NaN"}, "Type an amount"),
        ({"price_before_tax": "99999999999"}, "more than"),
        ({"extra_days": "400"}, "less than or equal to 250"),
        ({"extra_days": "1.5"}, "whole number"),
        ({"labor_hours": "1.234"}, "2 decimal"),
    ],
)
def test_bad_text_is_said_at_its_field_and_kept(
    as_office: Client, job: FenceJob, changes: dict[str, str], words: str
) -> None:
    order = draft(job)
    typed = TEXT | {"description": "Keep these words."} | changes
    for address in (at("change_order_new", job.proposal_id), at("change_order", order.pk)):
        answer = as_office.post(address, typed)
        page = page_of(answer)
        assert answer.status_code == 422
        assert words in page
        assert "Keep these words." in page
        for value in changes.values():
            assert value in page
    order.refresh_from_db()
    assert order.description == "Keyed alike."
    assert ChangeOrder.objects.count() == 1


def test_no_is_kept_with_what_was_said(as_office: Client, job: FenceJob) -> None:
    order = draft(job)
    answer = as_office.post(at("change_order_decline", order.pk), {"note": ""})
    assert answer.status_code == 422
    as_office.post(at("change_order_decline", order.pk), {"note": "Too dear"})
    order.refresh_from_db()
    assert (order.state, order.decided_note) == ("declined", "Too dear")
    assert "Too dear" in page_of(as_office.get(at("change_order", order.pk)))


def test_paper_is_recorded_with_its_day(as_office: Client, job: FenceJob) -> None:
    order = draft(job)
    values = {
        "signed_name": "Wren Halloway",
        "signed_on": TODAY.isoformat(),
        "seen": fingerprint(order),
    }
    address = at("change_order_paper", order.pk)
    tomorrow = (timezone.localdate() + dt.timedelta(days=1)).isoformat()
    for wrong, words in (
        ({"signed_name": ""}, "required"),
        ({"signed_on": tomorrow}, "future"),
        ({"signed_on": "2020-01-01"}, "before this change order"),
        ({"seen": "0" * 64}, "changed meanwhile"),
    ):
        answer = as_office.post(address, values | wrong)
        assert answer.status_code == 422
        assert words in page_of(answer)
    assert as_office.post(address, values).status_code == 302
    order.refresh_from_db()
    assert (order.state, order.way) == ("signed", "paper")
    page = page_of(as_office.get(at("change_order", order.pk)))
    assert "It can't be changed any more." in page
    assert "Save the draft" not in page


@pytest.mark.parametrize("name", ACTS)
def test_signed_order_is_left_alone_by_every_form(
    as_office: Client, job: FenceJob, name: str
) -> None:
    order = draft(job)
    ChangeOrder.objects.filter(pk=order.pk).update(
        state="signed", signed_name="Wren", decided_at=NOW
    )
    as_office.post(at(name, order.pk), ACTS[name])
    order.refresh_from_db()
    assert (order.state, order.title) == ("signed", "A lock on the gate")


def test_pdf_is_one_page_for_drafts_and_signed_orders(as_office: Client, job: FenceJob) -> None:
    order = draft(job, description="\n".join(f"Line {n} of what changes." for n in range(12)))
    for changes in ({}, {"state": "signed", "signed_name": "Wren", "decided_at": NOW}):
        ChangeOrder.objects.filter(pk=order.pk).update(**changes)
        answer = as_office.get(at("change_order_pdf", order.pk))
        assert answer.headers["Content-Type"] == "application/pdf"
        assert 'filename="change-order-1001-1.pdf"' in answer.headers["Content-Disposition"]
        body = body_of(answer)
        (page,) = pypdf.PdfReader(io.BytesIO(body)).pages
        words = page.extract_text()
        assert "New contract total" in words
        assert ("Signed by Wren" in words) == bool(changes)


def test_orders_of_what_was_never_accepted_do_not_exist(as_office: Client, job: FenceJob) -> None:
    other = Proposal.objects.create(
        estimate=job.proposal.estimate, valid_until=TODAY, price=Decimal(1)
    )
    for name in ("change_orders", "change_order_new"):
        assert as_office.get(at(name, other.pk)).status_code == 404


def test_queries_do_not_grow_with_the_orders(
    as_office: Client, job: FenceJob, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(2):
        order = draft(job)
        for address in (
            at("change_orders", job.proposal_id),
            at("change_order", order.pk),
            at("change_sign", job.pk, order.number),
        ):
            with django_assert_max_num_queries(10):
                as_office.get(address)
        for _ in range(10):
            draft(job)


def signing(job: FenceJob, order: ChangeOrder, **changes: str) -> dict[str, str]:
    return {"signed_name": "Wren Halloway", "strokes": "", "seen": fingerprint(order)} | changes


def test_customer_reads_and_signs_on_the_crew_lead_s_phone(
    phone: Client, lead: User, job: FenceJob
) -> None:
    order = draft(job)
    address = at("change_sign", job.pk, order.number)
    page = page_of(phone.get(address))
    for words in ("A lock on the gate", "Keyed alike.", "$120.00", "$5,100.00", "$5,220.00"):
        assert words in page, words
    assert "1 working day more than planned" in page
    strokes = [[[100, 200], [300, 400]]]
    answer = phone.post(address, signing(job, order, strokes=json.dumps(strokes)))
    assert answer.status_code == 302
    order.refresh_from_db()
    assert (order.state, order.way, order.strokes) == ("signed", "phone", strokes)
    assert order.decided_by == lead
    assert AuditEntry.objects.filter(action="change order signed", actor=lead).count() == 1
    page = page_of(phone.get(address))
    assert 'd="M100 80 L300 160"' in page
    assert "Sign this change" not in page
    # A second click changes nothing.
    again = phone.post(address, signing(job, order, signed_name="Someone Else"))
    assert again.status_code == 422
    order.refresh_from_db()
    assert order.signed_name == "Wren Halloway"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"signed_name": ""}, "Type your name"),
        ({"signed_name": "<b>Wren"}, "plain words"),
        ({"strokes": "[[[0,1001]]]"}, "no signature"),
        ({"strokes": "{"}, "no signature"),
        ({"seen": "1" * 64}, "changed meanwhile"),
    ],
)
def test_signature_that_can_not_be_is_refused_and_nothing_is_lost(
    phone: Client, job: FenceJob, changes: dict[str, str], words: str
) -> None:
    order = draft(job)
    answer = phone.post(at("change_sign", job.pk, 1), signing(job, order, **changes))
    page = page_of(answer)
    assert answer.status_code == 422
    assert words in page
    if "signed_name" not in changes:
        assert 'value="Wren Halloway"' in page
    order.refresh_from_db()
    assert order.state == "draft"


def test_nothing_is_signed_for_a_job_that_is_called_off(phone: Client, job: FenceJob) -> None:
    order = draft(job)
    FenceJob.objects.filter(pk=job.pk).update(
        state="called_off", called_off_at=NOW, called_off_reason="Moved away"
    )
    answer = phone.post(at("change_sign", job.pk, 1), signing(job, order))
    assert answer.status_code == 422
    order.refresh_from_db()
    assert order.state == "draft"


def test_orders_of_other_crews_jobs_do_not_exist(phone: Client, job: FenceJob) -> None:
    foreign = make_fence_job(number=1002)
    order = draft(foreign)
    address = at("change_sign", foreign.pk, 1)
    assert phone.get(address).status_code == 404
    assert phone.post(address, signing(foreign, order)).status_code == 404
    assert phone.get(at("change_sign", job.pk, 1)).status_code == 404
    order.refresh_from_db()
    assert order.state == "draft"


@pytest.mark.parametrize(
    "name",
    [
        "change_order",
        "change_order_drop",
        "change_order_decline",
        "change_order_paper",
        "change_order_pdf",
    ],
)
def test_crew_lead_never_opens_the_office_s_pages(phone: Client, job: FenceJob, name: str) -> None:
    order = draft(job)
    for answer in (phone.get(at(name, order.pk)), phone.post(at(name, order.pk), TEXT)):
        assert answer.status_code == 403
    order.refresh_from_db()
    assert (order.state, order.title) == ("draft", "A lock on the gate")


def meet_rock(job: FenceJob, *numbers: int) -> None:
    crew, _ = Crew.objects.get_or_create(name="Rock crew")
    report, _ = DayReport.objects.get_or_create(
        job=job, crew=crew, date=TODAY, defaults={"reported_at": NOW}
    )
    for number in numbers:
        PostRecord.objects.create(
            job=job, number=number, report=report, met_rock=True, recorded_at=NOW
        )


def test_rock_reported_becomes_a_draft_once(as_office: Client, job: FenceJob) -> None:
    meet_rock(job, 3, 7)
    address = at("job_rock_change", job.pk)
    assert address in page_of(as_office.get(at("job", job.pk)))
    answer = as_office.post(address)
    order = ChangeOrder.objects.get()
    assert answer.headers["Location"] == at("change_order", order.pk)
    assert order.price_before_tax == Decimal("190.00")
    assert address not in page_of(as_office.get(at("job", job.pk)))
    assert as_office.post(address).headers["Location"] == at("job", job.pk)
    assert ChangeOrder.objects.count() == 1


def test_job_page_shows_amounts_only_to_those_who_see_prices(
    as_role: Callable[[Role | None], Client], phone: Client, job: FenceJob
) -> None:
    order = draft(job, title="A lock")
    meet_rock(job, 3)
    office, crew = page_of(as_role(Role.OFFICE).get(at("job", job.pk))), ""
    crew = page_of(phone.get(at("job", job.pk)))
    assert "$120.00" in office
    assert "$" not in crew
    assert at("change_sign", job.pk, order.number) in crew
    assert at("ground", job.pk) in crew
    for forbidden in ("/rock-change/", "/proposals/", at("change_order", order.pk)):
        assert forbidden not in crew.replace(at("change_sign", job.pk, 1), ""), forbidden
