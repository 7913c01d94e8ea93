"""What a proposal prints: put together once, frozen when it is sent."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.models import Proposal
from estimating.selectors.price_words import price_words
from estimating.services.estimate_facts import EstimateFacts
from estimating.services.scope_words import post_words
from firm.measure.money import format_money
from firm.measure.written import US, length_words
from firm.models import Customer, FirmProfile, JobSite

SEVERAL = 2


@dataclass(frozen=True, kw_only=True, slots=True)
class Party:
    """A name with its address and how to reach it."""

    name: str
    address: tuple[str, ...] = ()
    phone: str = ""
    email: str = ""
    licence: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """One row of a table of amounts, as printed."""

    description: str
    amount: str
    key: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class BesideRow:
    """Another way to do the work, as printed beside the price."""

    name: str
    about: tuple[str, ...]
    price: str
    change: str


@dataclass(frozen=True, kw_only=True, slots=True)
class QuantityRow:
    """The main quantities of one line, as printed."""

    line: str
    fence: str
    posts: str
    gates: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ShortText:
    """A text with its heading."""

    heading: str
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Drawing:
    """A drawing of the appendix with its heading."""

    name: str
    svg: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ProposalContent:
    """Everything printed on a proposal, as text."""

    number: str
    title: str
    dated: str
    valid_until: str
    firm: Party
    customer: Party
    site: tuple[str, ...]
    introduction: str
    facts: tuple[Row, ...]
    scope: tuple[str, ...]
    plan_svg: str
    detail: str
    price_rows: tuple[Row, ...]
    quantity_rows: tuple[QuantityRow, ...]
    price_before_tax: str
    has_sales_tax: bool = True
    sales_tax: str
    price: str
    options: tuple[Row, ...]
    payments: tuple[Row, ...]
    exclusions: tuple[str, ...]
    cautions: tuple[str, ...]
    voided_by: tuple[str, ...]
    how_to_accept: tuple[str, ...]
    cancellation_note: str
    firm_texts: tuple[ShortText, ...]
    elevations: tuple[Drawing, ...] = ()
    beside: tuple[BesideRow, ...] = ()


def day_words(day: dt.date) -> str:
    """Return a day as it stands on paper: May 4, 2026."""
    return f"{day:%B} {day.day}, {day.year}"


def firm_party(firm: FirmProfile) -> Party:
    """Return the firm as printed."""
    return Party(
        name=firm.name,
        address=tuple(firm.address_lines) if firm.street else (),
        phone=firm.phone,
        email=firm.email,
        licence=firm.licence,
    )


def customer_party(customer: Customer) -> Party:
    """Return the customer as printed."""
    return Party(
        name=customer.name,
        address=tuple(customer.address_lines),
        phone=customer.phone,
        email=customer.email,
    )


def site_lines(site: JobSite | None) -> tuple[str, ...]:
    """Return where the work is done."""
    if site is None:
        return ()
    town = ", ".join(part for part in (site.city, site.state) if part)
    return tuple(line for line in (site.street, f"{town} {site.postcode}".strip()) if line)


def at_a_glance(
    facts: EstimateFacts,
    *,
    price: Decimal,
    valid_until: dt.date,
    payments: Sequence[Row] = (),
    units: str = US,
) -> tuple[Row, ...]:
    """Return the few answers a reader looks for first."""
    built = [line for line in facts.lines if line.scope != "removal"]
    rows = []
    if built:
        heights = sorted({line.height_in for line in built if line.height_in})
        gates = [gate for line in built for gate in line.gates]
        length = length_words(sum(line.length_in for line in built), units)
        tall = " and ".join(length_words(one, units) for one in heights)
        rows = [
            Row(description="Fence", amount=length),
            Row(description="Height", amount=tall),
            Row(description="Gates", amount=str(len(gates)) if gates else "None"),
        ]
    return (
        *(row for row in rows if row.amount),
        Row(description="Price", amount=format_money(price)),
        *_first_due(payments),
        Row(description="Good until", amount=day_words(valid_until)),
    )


def _first_due(payments: Sequence[Row]) -> tuple[Row, ...]:
    """Return what falls due first where there are several payments, and whether at acceptance."""
    if len(payments) < SEVERAL:
        return ()
    first = payments[0]
    is_at_once = "accept" in first.description.casefold()
    label = "Due when you accept" if is_at_once else "First payment"
    return (Row(description=label, amount=first.amount),)


def quantity_rows(facts: EstimateFacts, units: str = US) -> tuple[QuantityRow, ...]:
    """Return each line's main quantities."""
    return tuple(
        QuantityRow(
            line=line.name,
            fence=length_words(line.length_in, units),
            posts=post_words(line.posts) if line.posts else "none",
            gates=str(len(line.gates)) if line.gates else "none",
        )
        for line in facts.lines
    )


def text_lines(text: str) -> tuple[str, ...]:
    """Return the lines of a text, empty ones left out."""
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def price_rows(facts: EstimateFacts, detail: str, units: str = US) -> tuple[Row, ...]:
    """Return the parts of the price at the chosen level of detail."""
    if detail == Proposal.Detail.TOTAL:
        return ()
    return tuple(
        Row(
            description=price_words(
                part.description,
                units,
                fence_ft=part.fence_ft,
                has_gates=part.has_gates,
                opening_in=part.opening_in,
            ),
            amount=format_money(part.amount),
            key=part.key,
        )
        for part in facts.parts
    )
