"""The starter data as rows, and the firm's rows as the engine reads them."""

import datetime as dt
from dataclasses import replace
from decimal import Decimal

import pytest

from estimating.engine.reading import read_catalog
from estimating.mapping import firm_catalog_data
from estimating.models import FenceSystem, PriceItem, ProductionRate
from estimating.services.starter import load_starter_rows
from estimating.starter import load_starter_data
from tests.factories import TODAY, make_firm

pytestmark = pytest.mark.django_db


def test_starter_rows_are_the_starter_data_again() -> None:
    make_firm()
    load_starter_rows(today=TODAY)

    from_rows = read_catalog(firm_catalog_data(today=TODAY))
    from_files = read_catalog(load_starter_data())

    assert from_rows.systems == from_files.systems
    # Rows know their day, which files don't.
    assert {p.checked_on for p in from_rows.prices.values()} == {TODAY.isoformat()}
    undated = {key: replace(p, checked_on="") for key, p in from_rows.prices.items()}
    assert undated == from_files.prices
    assert set(from_rows.rates.since.values()) == {TODAY.isoformat()}
    assert len(from_rows.rates.since) == ProductionRate.objects.count()
    assert replace(from_rows.rates, since={}) == from_files.rates


def test_loading_twice_adds_nothing_and_leaves_the_firms_prices_alone() -> None:
    added = load_starter_rows(today=TODAY)
    PriceItem.objects.filter(key="concrete_80lb").update(unit_cost=Decimal("9.9900"))

    assert added > 0
    assert load_starter_rows(today=TODAY) == 0
    assert PriceItem.objects.get(key="concrete_80lb").unit_cost == Decimal("9.9900")


def test_rules_come_from_the_firms_settings() -> None:
    make_firm(
        crew_rate="70.50",
        crew_size=4,
        target_margin_pct="15",
        overhead_method="per_labor_hour",
        overhead_rate="18.25",
        hole_floor_in=36.0,
        sales_tax_base="material",
        sales_tax_pct="7.2500",
    )
    load_starter_rows(today=TODAY)

    rules = read_catalog(firm_catalog_data(today=TODAY)).rules

    assert (rules.crew_rate, rules.crew_size) == (Decimal("70.50"), 4)
    assert rules.target_margin_pct == Decimal(15)
    assert (rules.overhead_method, rules.overhead_rate) == ("per_labor_hour", Decimal("18.25"))
    assert rules.hole_floor_in == 36.0
    assert (rules.sales_tax_base, rules.sales_tax_pct) == ("material", Decimal("7.25"))


def test_newest_rate_that_has_begun_counts() -> None:
    make_firm()
    load_starter_rows(today=TODAY)
    for days, value in ((-30, 0.9), (1, 2.0), (30, 3.0)):
        ProductionRate.objects.create(
            kind="hours",
            key="hang.vinyl_bay",
            value=value,
            effective_from=TODAY + dt.timedelta(days=days),
        )

    rate = firm_catalog_data(today=TODAY + dt.timedelta(days=5))["rates"]["hours"]["hang.vinyl_bay"]

    assert rate == 2.0


def test_rows_out_of_use_are_left_out() -> None:
    make_firm()
    load_starter_rows(today=TODAY)
    FenceSystem.objects.filter(key="chain_link_4ft").update(is_active=False)
    PriceItem.objects.filter(key="concrete_80lb").update(is_active=False)

    data = firm_catalog_data(today=TODAY)

    assert "chain_link_4ft" not in data["fence_systems"]
    assert "concrete_80lb" not in data["prices"]
