"""Estimates: numbers, prices kept as they were, lines, figures by hand, revisions."""

from decimal import Decimal
from typing import Any

import pytest

from estimating import mapping
from estimating.engine.result import EstimateResult
from estimating.models import Estimate, EstimateLine, PriceItem, Proposal
from estimating.selectors.estimates import estimate_view, estimates, price_differences
from estimating.services import estimate_parts
from estimating.services import estimates as service
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.errors import Refusal
from firm.models import AuditEntry, FirmProfile, JobSite
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_customer, make_firm, make_site

pytestmark = pytest.mark.django_db

CONCRETE = "concrete_80lb"


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    site = make_site()
    save_measurement(site=site, document=straight_line(600.0), based_on=0, actor=None, now=NOW)
    return site


@pytest.fixture
def priced(site: JobSite) -> Estimate:
    return service.price_site(site=site, actor=None, now=NOW)


def typed(**changes: Any) -> dict[str, Any]:
    values: dict[str, Any] = {
        "description": "Pull a stump",
        "quantity": Decimal(1),
        "unit": "each",
        "unit_cost": Decimal(0),
        "price": None,
        "labor_hours": Decimal(0),
        "is_optional": False,
    }
    return values | changes


def freeze(estimate: Estimate) -> None:
    """Leave the estimate as sending its proposal does."""
    Estimate.objects.filter(pk=estimate.pk).update(state="frozen")


def result_of(estimate: Estimate) -> EstimateResult:
    result = mapping.result_of(estimate)
    assert result is not None
    return result


def test_estimate_is_numbered_on_from_the_firms_next_number(site: JobSite) -> None:
    FirmProfile.objects.update(next_estimate_number=2310)

    first = service.price_site(site=site, actor=None, now=NOW)
    second = service.price_site(site=site, actor=None, now=NOW, again=True)

    assert (first.number, second.number) == (2310, 2311)
    assert FirmProfile.objects.get().next_estimate_number == 2312


def test_number_taken_by_someone_faster_is_not_given_twice(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    make_firm(next_estimate_number=50)
    really_first = type(FirmProfile.objects.all()).first
    rivals = iter([True, False])

    def first_then_a_rival(rows: Any) -> Any:
        number = really_first(rows)
        if next(rivals):
            FirmProfile.objects.update(next_estimate_number=51)
        return number

    monkeypatch.setattr(type(FirmProfile.objects.all()), "first", first_then_a_rival)

    assert service.claim_number() == 51


def test_straight_line_has_its_posts_and_bays(priced: Estimate) -> None:
    # 600 in at 96 in at most: 600/96 = 6.25, so 7 bays and 8 posts (trade practice: bays are
    # rounded up, an open line has one post more). 600/7 = 85.714: between 85 11/16 and 85 3/4.
    (line,) = result_of(priced).lines
    assert (len(line.bays), len(line.posts)) == (7, 8)
    assert sum(bay.on_centre_in for bay in line.bays) == 600.0
    assert {bay.on_centre_in for bay in line.bays} == {85.6875, 85.75}


def test_kept_figures_are_the_results_own(priced: Estimate) -> None:
    money = result_of(priced).money
    priced.refresh_from_db()
    assert (priced.price, priced.sales_tax) == (money.price, money.sales_tax)
    assert priced.price_before_tax == sum(line.amount for line in result_of(priced).price_lines)
    assert priced.price == priced.price_before_tax + priced.sales_tax


def test_result_comes_back_from_json_as_it_was(priced: Estimate) -> None:
    again = mapping.from_plain(EstimateResult, mapping.to_plain(result_of(priced)))
    assert again == result_of(priced)
    assert isinstance(again.money.price, Decimal)
    assert isinstance(again.lines[0].plan_points[0], tuple)


def test_old_estimate_keeps_its_prices_until_priced_again(priced: Estimate) -> None:
    bags = result_of(priced).concrete.bags
    old = priced.price
    material = result_of(priced).money.material
    cost = PriceItem.objects.get(key=CONCRETE).unit_cost
    PriceItem.objects.filter(key=CONCRETE).update(unit_cost=cost + 1)

    priced.refresh_from_db()
    assert priced.price == old
    changes = {row.words: row.change for row in price_differences(priced, today=TODAY)}
    # One dollar more a bag; no purchase tax is set.
    assert changes["Material"] == bags
    priced.refresh_from_db()
    assert priced.price == old

    again = service.reprice(estimate=priced, actor=None, now=NOW)

    assert result_of(again).money.material == material + bags
    assert AuditEntry.objects.filter(action="priced it again").count() == 1


def test_pricing_again_takes_the_sites_newest_version(priced: Estimate, site: JobSite) -> None:
    save_measurement(site=site, document=straight_line(672.0), based_on=1, actor=None, now=NOW)

    again = service.reprice(estimate=priced, actor=None, now=NOW)

    assert again.measurement is not None
    assert again.measurement.version == 2
    assert result_of(again).lines[0].length_in == 672.0


def test_a_second_open_estimate_of_the_same_version_must_be_asked_for(
    priced: Estimate, site: JobSite
) -> None:
    with pytest.raises(Refusal, match=f"Estimate {priced.label} is already open"):
        service.price_site(site=site, actor=None, now=NOW)
    assert Estimate.objects.count() == 1


def test_a_site_without_measurements_is_refused_and_uses_no_number(db: None) -> None:
    make_firm(next_estimate_number=7)
    with pytest.raises(Refusal, match="not been measured"):
        service.price_site(site=make_site(), actor=None, now=NOW)
    assert FirmProfile.objects.get().next_estimate_number == 7


def test_typed_price_is_added_to_the_price_as_it_stands(priced: Estimate) -> None:
    before = priced.price_before_tax

    estimate_parts.save_line(
        estimate=priced, values=typed(price=Decimal("250.00")), actor=None, now=NOW
    )

    priced.refresh_from_db()
    assert priced.price_before_tax == before + Decimal("250.00")


def test_optional_line_stays_out_of_the_price(priced: Estimate) -> None:
    before = priced.price

    estimate_parts.save_line(
        estimate=priced,
        values=typed(price=Decimal("250.00"), is_optional=True),
        actor=None,
        now=NOW,
    )

    priced.refresh_from_db()
    assert priced.price == before
    (option,) = result_of(priced).options
    assert option.amount == Decimal("250.00")


def test_line_taken_out_leaves_the_price_as_before(priced: Estimate) -> None:
    before = priced.price
    line = estimate_parts.save_line(
        estimate=priced, values=typed(unit_cost=Decimal("100")), actor=None, now=NOW
    )
    priced.refresh_from_db()
    assert priced.price > before

    estimate_parts.delete_line(line=line, actor=None, now=NOW)

    priced.refresh_from_db()
    assert priced.price == before


def test_figure_by_hand_counts_and_the_engines_own_stands_beside_it(priced: Estimate) -> None:
    own = result_of(priced).concrete.bags

    estimate_parts.set_by_hand(
        estimate=priced,
        target=f"quantity:{CONCRETE}",
        value=Decimal(own + 5),
        reason="Cobbles all along",
        actor=None,
        now=NOW,
    )

    priced.refresh_from_db()
    view = estimate_view(priced)
    assert view is not None
    (row,) = view.hand_set
    assert row.own.startswith(f"{own} ")
    bought = {each.item: each.purchase_units for each in view.result.quantities}
    assert bought[CONCRETE] == own + 5
    assert "Cobbles all along" in str(view.findings)


def test_dropping_a_figure_by_hand_brings_the_price_back(priced: Estimate) -> None:
    before = priced.price
    override = estimate_parts.set_by_hand(
        estimate=priced,
        target="price",
        value=Decimal("9999.00"),
        reason="Agreed on the phone",
        actor=None,
        now=NOW,
    )
    priced.refresh_from_db()
    assert priced.price_before_tax == Decimal("9999.00")

    estimate_parts.let_engine_decide(override=override, actor=None, now=NOW)

    priced.refresh_from_db()
    assert priced.price == before


def test_refused_figure_leaves_no_row_behind(priced: Estimate) -> None:
    with pytest.raises(Refusal):
        estimate_parts.set_by_hand(
            estimate=priced,
            target=f"quantity:{CONCRETE}",
            value=Decimal("2.5"),
            reason="Half a bag",
            actor=None,
            now=NOW,
        )
    assert not priced.overrides.exists()


def test_frozen_estimate_takes_no_change(priced: Estimate) -> None:
    freeze(priced)
    with pytest.raises(Refusal, match="Make a revision"):
        estimate_parts.save_line(estimate=priced, values=typed(), actor=None, now=NOW)
    with pytest.raises(Refusal, match="Make a revision"):
        service.reprice(estimate=priced, actor=None, now=NOW)
    assert not priced.typed_lines.exists()


def test_revision_starts_from_the_same_lines_and_prices(priced: Estimate) -> None:
    estimate_parts.save_line(
        estimate=priced, values=typed(price=Decimal("250.00")), actor=None, now=NOW
    )
    priced.refresh_from_db()
    Proposal.objects.create(
        estimate=priced,
        state="sent",
        valid_until=TODAY,
        price=priced.price,
        pdf_sha256="a" * 64,
    )
    freeze(priced)
    # A price that rose since does not reach the revision on its own.
    PriceItem.objects.filter(key=CONCRETE).update(unit_cost=Decimal("99"))

    new = service.revise(estimate=priced, actor=None, now=NOW)

    priced.refresh_from_db()
    assert (new.label, new.replaces) == (f"{priced.number}-1", priced)
    assert (new.state, priced.state) == ("open", "replaced")
    assert new.price == priced.price
    assert [line.description for line in new.typed_lines.all()] == ["Pull a stump"]
    assert [line.description for line in priced.typed_lines.all()] == ["Pull a stump"]
    assert Proposal.objects.get().state == "withdrawn"


def test_open_and_accepted_estimates_are_not_revised(priced: Estimate) -> None:
    with pytest.raises(Refusal, match="Only an estimate whose proposal was sent"):
        service.revise(estimate=priced, actor=None, now=NOW)
    freeze(priced)
    Proposal.objects.create(
        estimate=priced,
        state="accepted",
        valid_until=TODAY,
        price=priced.price,
        pdf_sha256="a" * 64,
    )
    with pytest.raises(Refusal, match="has accepted"):
        service.revise(estimate=priced, actor=None, now=NOW)
    assert Estimate.objects.count() == 1


def test_repair_without_a_layout_has_a_price() -> None:
    make_firm(minimum_charge="0")
    load_starter_rows(today=TODAY)

    row = service.price_repair(
        customer=make_customer(),
        site=None,
        title="Rehang a gate",
        notes="",
        lines=[EstimateLine(description="Rehang", price=Decimal("180.00"))],
        actor=None,
        now=NOW,
    )

    assert row.price_before_tax == Decimal("180.00")
    assert row.measurement is None


def test_repair_on_another_customers_site_is_refused() -> None:
    make_firm(next_estimate_number=9)
    with pytest.raises(Refusal, match="another customer") as refused:
        service.price_repair(
            customer=make_customer(name="Someone Else"),
            site=make_site(),
            title="Rehang a gate",
            notes="",
            lines=[EstimateLine(description="Rehang", price=Decimal("180.00"))],
            actor=None,
            now=NOW,
        )
    assert refused.value.field == "site"
    assert FirmProfile.objects.get().next_estimate_number == 9


def test_list_is_narrowed_by_number_words_customer_and_state(priced: Estimate) -> None:
    other = make_customer(name="Someone Else")
    assert list(estimates(words=str(priced.number))) == [priced]
    assert list(estimates(words="larch")) == [priced]
    assert list(estimates(words="halloway", state="open")) == [priced]
    assert not estimates(state="frozen")
    assert not estimates(customer=other.pk)
    assert list(estimates(site=priced.site_id)) == [priced]
    assert not estimates(site=make_site(street="9 Elm Court").pk)
