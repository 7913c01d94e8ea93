"""What a purchase order prints: put together once, frozen when it is sent."""

import datetime as dt
from decimal import Decimal
from typing import Any

from firm.measure import sold
from firm.measure.money import format_money, to_cents
from firm.models import FirmProfile
from firm.selectors.profile import firm_profile
from scheduling.models import OrderLine, PurchaseOrder


def build_content(order: PurchaseOrder, *, number: int | None, sent_on: dt.date) -> dict[str, Any]:
    """Return everything printed on an order, as plain text that a row can hold."""
    firm, lines = firm_profile(), list(order.lines.all())
    total = sum((to_cents(line.count * line.unit_cost) for line in lines), Decimal(0))
    supplier = order.supplier
    return {
        "number": str(number) if number else "Draft",
        "dated": _day(sent_on),
        "firm": {
            "name": firm.name,
            "address": firm.address_lines,
            "phone": firm.phone,
            "email": firm.email,
        },
        "supplier": {
            "name": supplier.name,
            "phone": supplier.phone,
            "email": supplier.email,
            "account_number": supplier.account_number,
        },
        "ship_to": _ship_to(order, firm),
        "needed_by": _day(order.needed_by) if order.needed_by else "as soon as it can be had",
        "note": order.note,
        "lines": [_line(line, firm.units) for line in lines],
        "total": format_money(total),
    }


def _ship_to(order: PurchaseOrder, firm: FirmProfile) -> list[str]:
    if order.job is None or order.job.site is None:
        return [f"{firm.name}, yard", *firm.address_lines]
    site = order.job.site
    town = " ".join(f"{site.city}, {site.state} {site.postcode}".split())
    return [f"{order.job}, building site", site.street, town]


def _line(line: OrderLine, units: str) -> dict[str, str]:
    return {
        "count": f"{sold.count_shown(Decimal(line.count), line.unit, units):,}",
        "unit": sold.unit_words(line.unit, units),
        "name": line.name,
        "part_number": line.part_number,
        "unit_cost": _unit_price(sold.cost_shown(line.unit_cost, line.unit, units)),
        "amount": format_money(to_cents(line.count * line.unit_cost)),
    }


def _unit_price(cost: Decimal) -> str:
    """Return what one costs, with parts of a cent where there are any."""
    cents = to_cents(cost)
    return format_money(cents) if cents == cost else f"${cost:,.4f}".rstrip("0")


def _day(day: dt.date) -> str:
    return f"{day:%A, %B} {day.day}, {day.year}"
