"""Every rule the database keeps by itself refuses what it should."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import IntegrityError, models, transaction

from estimating.models import (
    Estimate,
    EstimateLine,
    EstimateOverride,
    FenceSystem,
    PriceItem,
    ProductionRate,
    Proposal,
    ProposalOption,
    SiteMeasurement,
)
from firm.models import (
    Clearance,
    Customer,
    FirmProfile,
    JobSite,
    Jurisdiction,
    User,
    UtilityAnswer,
)

NOW = dt.datetime(2026, 5, 4, 15, 0, tzinfo=dt.UTC)
TODAY = NOW.date()

pytestmark = pytest.mark.django_db


@pytest.fixture
def customer() -> Customer:
    return Customer.objects.create(name="Wren Halloway", created_at=NOW)


@pytest.fixture
def site(customer: Customer) -> JobSite:
    return JobSite.objects.create(
        customer=customer, street="4 Larch Court", city="Dunmere", created_at=NOW
    )


@pytest.fixture
def estimate(customer: Customer) -> Estimate:
    return Estimate.objects.create(
        number=1001, customer=customer, title="Back line", created_at=NOW
    )


def draft(estimate: Estimate, **changes: object) -> Proposal:
    values: dict[str, object] = {
        "estimate": estimate,
        "valid_until": TODAY,
        "price": Decimal("100.00"),
    }
    return Proposal(**(values | changes))


def assert_refused(row: models.Model, constraint: str) -> None:
    """Saving `row` is refused, and by the rule of that name (SQLite names columns instead)."""
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        row.save()


def test_a_role_nobody_knows_is_refused() -> None:
    assert_refused(User(username="x", role="visitor"), "user_role_known")


def test_a_second_firm_is_refused() -> None:
    assert_refused(FirmProfile(id=2, name="Second"), "firm_profile_is_one_row")


def test_a_margin_of_all_the_price_is_refused() -> None:
    firm = FirmProfile(name="First", target_margin_pct=Decimal(100))
    assert_refused(firm, "firm_margin_in_range")


def test_a_customer_without_a_name_is_refused() -> None:
    assert_refused(Customer(name="", created_at=NOW), "customer_has_a_name")


def test_a_frost_depth_below_nothing_is_refused() -> None:
    place = Jurisdiction(name="Dunmere", frost_depth_in=-1)
    assert_refused(place, "jurisdiction_depths_not_negative")


def test_a_clearance_that_ends_before_it_begins_is_refused(site: JobSite) -> None:
    ticket = Clearance(
        site=site, kind="locate", clear_on=TODAY, expires_on=TODAY - dt.timedelta(days=1)
    )
    assert_refused(ticket, "clearance_ends_after_it_begins")


def test_one_ticket_number_stands_once_on_a_site(site: JobSite) -> None:
    Clearance.objects.create(site=site, kind="locate", number="A-17")
    assert_refused(
        Clearance(site=site, kind="locate", number="A-17"),
        "clearance_number_once_per_site|firm_clearance.number",
    )


def test_a_utility_answers_a_ticket_once(site: JobSite) -> None:
    ticket = Clearance.objects.create(site=site, kind="locate", number="A-17")
    UtilityAnswer.objects.create(clearance=ticket, utility="Gas")
    assert_refused(
        UtilityAnswer(clearance=ticket, utility="Gas"),
        "one_answer_per_utility_and_ticket|firm_utilityanswer.utility",
    )


def test_a_negative_price_is_refused() -> None:
    assert_refused(PriceItem(key="post", name="Post", unit_cost=Decimal(-1)), "price_not_negative")


def test_an_empty_pack_is_refused() -> None:
    assert_refused(
        PriceItem(key="post", name="Post", unit_cost=Decimal(1), pack=0), "price_pack_positive"
    )


def test_a_fence_system_key_stands_once() -> None:
    FenceSystem.objects.create(key="vinyl", name="Vinyl", definition={}, changed_at=NOW)
    assert_refused(
        FenceSystem(key="vinyl", name="Other", definition={}, changed_at=NOW),
        "estimating_fencesystem.key|estimating_fencesystem_key",
    )


def test_a_rate_stands_once_a_day() -> None:
    ProductionRate.objects.create(key="set.line", value=0.25, effective_from=TODAY)
    assert_refused(
        ProductionRate(key="set.line", value=0.3, effective_from=TODAY),
        "one_rate_per_key_and_day|estimating_productionrate.key",
    )


def test_a_site_version_stands_once(site: JobSite) -> None:
    SiteMeasurement.objects.create(site=site, version=1, document={}, saved_at=NOW)
    assert_refused(
        SiteMeasurement(site=site, version=1, document={}, saved_at=NOW),
        "site_version_once|estimating_sitemeasurement.version",
    )


def test_an_estimate_number_and_revision_stand_once(estimate: Estimate) -> None:
    twin = Estimate(number=1001, customer=estimate.customer, title="Again", created_at=NOW)
    assert_refused(twin, "estimate_number_and_revision_once|estimating_estimate.number")


def test_a_typed_line_below_nothing_is_refused(estimate: Estimate) -> None:
    line = EstimateLine(estimate=estimate, description="Rock", quantity=Decimal(-1))
    assert_refused(line, "typed_line_not_negative")


def test_an_override_without_a_reason_is_refused(estimate: Estimate) -> None:
    override = EstimateOverride(
        estimate=estimate, target="price", value=Decimal(1), reason="", set_at=NOW
    )
    assert_refused(override, "override_has_a_reason")


def test_a_figure_is_overridden_once(estimate: Estimate) -> None:
    values = {"estimate": estimate, "target": "price", "value": Decimal(1), "set_at": NOW}
    EstimateOverride.objects.create(reason="Neighbour", **values)
    assert_refused(
        EstimateOverride(reason="Other", **values),
        "one_override_per_figure|estimating_estimateoverride.target",
    )


def test_an_estimate_has_one_draft_at_a_time(estimate: Estimate) -> None:
    draft(estimate).save()
    assert_refused(draft(estimate), "one_draft_per_estimate|estimating_proposal.estimate_id")


def test_a_sent_proposal_without_its_pdf_is_refused(estimate: Estimate) -> None:
    assert_refused(draft(estimate, state="sent"), "sent_proposal_has_its_pdf")


def test_a_decline_without_a_reason_is_refused(estimate: Estimate) -> None:
    declined = draft(estimate, state="declined", pdf_sha256="a" * 64)
    assert_refused(declined, "declined_proposal_has_a_reason")


def test_an_option_stands_once_in_a_proposal(estimate: Estimate) -> None:
    proposal = draft(estimate)
    proposal.save()
    values = {"proposal": proposal, "key": "caps", "description": "Caps", "amount": Decimal(1)}
    ProposalOption.objects.create(**values)
    assert_refused(
        ProposalOption(**values), "option_once_per_proposal|estimating_proposaloption.key"
    )
