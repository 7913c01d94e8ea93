"""What one purchase unit is stays while some are counted in it: 6 boxes are no 6 rolls."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from estimating.models import PriceItem, Supplier
from firm.models import Role
from scheduling.models import YardStock
from scheduling.services.orders import cancel_order, drop_draft
from scheduling.services.stock import StockItem
from tests.buying_cast import BAG, POST, make_suppliers, make_two_jobs, put_in
from tests.buying_steps import comes, draft, sent
from tests.factories import NOW, TODAY, make_firm
from tests.report_cast import make_crew

pytestmark = pytest.mark.django_db


@pytest.fixture
def concrete(db: None) -> Supplier:
    make_firm()
    return make_suppliers()[1]


@pytest.fixture
def office(concrete: Supplier, as_role: Callable[[Role | None], Client]) -> Client:
    return as_role(Role.OFFICE)


def change(client: Client, **changes: Any) -> tuple[int, dict[str, list[str]]]:
    row = PriceItem.objects.get(key="bag")
    values = {
        "name": row.name,
        "kind": "material",
        "unit_cost": "6.50",
        "purchase_unit": "bag",
        "pack": "1",
        "unit": "each",
        "waste_pct": "0",
        "supplier": str(row.supplier_id),
        "is_active": "on",
    }
    answer = client.post(f"/price-book/{row.pk}/", values | changes)
    errors = answer.context["form"].errors if answer.context else {}
    return answer.status_code, {name: list(words) for name, words in errors.items()}


@pytest.mark.parametrize(("field", "other"), [("purchase_unit", "pallet"), ("pack", "42")])
def test_purchase_unit_stays_while_some_lie_in_the_yard(
    office: Client, field: str, other: str
) -> None:
    put_in(BAG, 12)

    status, errors = change(office, **{field: other})

    assert status == 422
    assert list(errors) == [field]
    assert errors[field][0].startswith("This stays while 12 of it lie in the yard: ")
    assert PriceItem.objects.get(key="bag").purchase_unit == "bag"


def test_purchase_unit_stays_while_some_are_still_to_come(
    office: Client, concrete: Supplier
) -> None:
    order = sent(concrete, bag=10)
    comes(order, BAG, 4)
    draft(concrete, bag=3)

    _, errors = change(office, purchase_unit="pallet")

    (words,) = errors["purchase_unit"]
    assert f"4 of it lie in the yard, 6 stand on {order}, and 3 stand on the draft" in words
    assert "the draft to Dunmere Builders: " in words


def test_purchase_unit_stays_while_jobs_are_to_be_built_with_it(office: Client) -> None:
    eleven, twelve = make_two_jobs(make_crew("Crew 1"))

    _, errors = change(office, pack="42")
    assert errors["pack"][0].startswith("This stays while 2 jobs are to be built with it: ")

    put_in(BAG, 12)
    twelve.phases.filter(kind="set").update(finished_on=TODAY)
    _, errors = change(office, purchase_unit="pallet")
    (words,) = errors["purchase_unit"]
    assert "while 12 of it lie in the yard, and 1 job is to be built with it: " in words

    put_in(BAG, 0)
    eleven.phases.filter(kind="set").update(finished_on=TODAY)
    assert change(office, purchase_unit="pallet", pack="42") == (302, {})


def test_price_changes_whatever_is_counted(office: Client) -> None:
    put_in(BAG, 12)

    assert change(office, unit_cost="7.10") == (302, {})


def test_purchase_unit_changes_when_none_are_left(office: Client, concrete: Supplier) -> None:
    put_in(POST, 5)
    put_in(BAG, 12)
    put_in(BAG, 0)
    cancel_order(order=sent(concrete, bag=10), reason="too dear", actor=None, now=NOW)
    drop_draft(order=draft(concrete, bag=3), actor=None, now=NOW)

    assert change(office, purchase_unit="pallet", pack="42") == (302, {})


def test_emptied_row_of_the_yard_takes_the_unit_of_what_comes_next(office: Client) -> None:
    put_in(BAG, 12)
    put_in(BAG, 0)

    put_in(StockItem(item="bag", name=BAG.name, unit="pallet"), 2)

    assert YardStock.objects.get(item="bag").unit == "pallet"
