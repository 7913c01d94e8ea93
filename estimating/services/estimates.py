"""Makes estimates from measured sites, prices them again, freezes and revises them."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from estimating import mapping
from estimating.engine.errors import EngineError
from estimating.engine.result import EstimateResult
from estimating.models import (
    Estimate,
    EstimateAlternate,
    EstimateLine,
    EstimateOverride,
    Proposal,
)
from estimating.selectors.measurements import (
    latest_measurement,
    read_document,
    read_with,
    work_out,
)
from estimating.selectors.place_words import in_words, line_names
from firm.errors import Refusal
from firm.measure.money import format_money
from firm.models import Customer, FirmProfile, JobSite, User
from firm.services.audit import record

# What the columns hold: 12 digits, and 7 for the margin.
MOST_MONEY = Decimal(999_999_999)
MOST_MARGIN_PCT = Decimal(99_999)
TITLE_MAX_CHARS = 120
UNANSWERED = (Proposal.State.DRAFT, Proposal.State.SENT, Proposal.State.EXPIRED)
NO_LAYOUT: dict[str, Any] = {"format": "firm-footing-site", "version": 1, "lines": []}
COPIED_LINE_FIELDS = (
    "position",
    "description",
    "quantity",
    "unit",
    "unit_cost",
    "price",
    "labor_hours",
    "is_optional",
)


@transaction.atomic
def price_site(
    *, site: JobSite, actor: User | None, now: dt.datetime, title: str = "", again: bool = False
) -> Estimate:
    """Make an estimate of the site's newest version.

    Raises:
        Refusal: the site is not measured yet, its document can't be worked with, or an open
            estimate of this very version exists and `again` does not say to make another.
    """
    measurement = latest_measurement(site)
    if measurement is None:
        raise Refusal("This site has not been measured yet: type its lines first.")
    twin = Estimate.objects.filter(measurement=measurement, state=Estimate.State.OPEN).first()
    if twin and not again:
        raise Refusal(f"Estimate {twin.label} is already open for this version of the site.")
    estimate = Estimate(
        number=claim_number(),
        customer=site.customer,
        site=site,
        measurement=measurement,
        title=(title or measurement.document.get("name") or str(site))[:TITLE_MAX_CHARS],
        document=measurement.document,
        created_by=actor,
        created_at=now,
    )
    _price_from_scratch(estimate, now=now)
    _add_document_lines(estimate)
    record(actor=actor, action="priced the site", target=estimate, after=_figures(estimate), at=now)
    return estimate


@transaction.atomic
def price_repair(
    *,
    customer: Customer,
    site: JobSite | None,
    title: str,
    notes: str,
    lines: Iterable[EstimateLine],
    actor: User | None,
    now: dt.datetime,
) -> Estimate:
    """Make an estimate of typed lines alone: a repair that needs no layout.

    Raises:
        Refusal: there is no line, or the site is another customer's.
    """
    rows = list(lines)
    if not rows:
        raise Refusal("A repair needs one line or more: what is done, and its cost or price.")
    if site and site.customer_id != customer.pk:
        raise Refusal("This site belongs to another customer.", field="site")
    estimate = Estimate(
        number=claim_number(),
        customer=customer,
        site=site,
        title=title,
        notes=notes,
        document={**NO_LAYOUT, "name": title},
        created_by=actor,
        created_at=now,
    )
    estimate.save()
    for position, row in enumerate(rows):
        row.estimate, row.position = estimate, position
    EstimateLine.objects.bulk_create(rows)
    _price_from_scratch(estimate, now=now)
    record(actor=actor, action="priced a repair", target=estimate, after=_figures(estimate), at=now)
    return estimate


@transaction.atomic
def reprice(*, estimate: Estimate, actor: User | None, now: dt.datetime) -> Estimate:
    """Price an open estimate with today's price book, and the site's newest version.

    Raises:
        Refusal: the estimate is not open any more.
    """
    row = open_estimate(estimate)
    before = _figures(row)
    newest = latest_measurement(row.site) if row.site and row.measurement_id else None
    if newest:
        row.measurement, row.document = newest, newest.document
    _price_from_scratch(row, now=now)
    record(
        actor=actor,
        action="priced it again",
        target=row,
        before=before,
        after=_figures(row),
        at=now,
    )
    return row


@transaction.atomic
def revise(*, estimate: Estimate, actor: User | None, now: dt.datetime) -> Estimate:
    """Make the next revision of a frozen estimate, open for changes, with the same prices.

    Proposals of the old one that were not answered yet can't be accepted any more.

    Raises:
        Refusal: it is open, replaced already, or accepted.
    """
    claimed = Estimate.objects.filter(pk=estimate.pk, state=Estimate.State.FROZEN)
    # Taken back first: a customer who accepts at this moment is waited for, and seen below.
    Proposal.objects.filter(estimate=estimate, state__in=UNANSWERED).update(
        state=Proposal.State.WITHDRAWN
    )
    if Proposal.objects.filter(estimate=estimate, state=Proposal.State.ACCEPTED).exists():
        raise Refusal("The customer has accepted this estimate: price the change as a new one.")
    if not claimed.update(state=Estimate.State.REPLACED):
        raise Refusal("Only an estimate whose proposal was sent needs a revision.")
    old = Estimate.objects.get(pk=estimate.pk)
    new = _copy(old, actor=actor, now=now)
    record(
        actor=actor,
        action="made a revision",
        target=new,
        before={"estimate": old.label},
        after=_figures(new),
        at=now,
    )
    return new


def claim_number() -> int:
    """Return the next estimate number; two at once never get the same one.

    The row is claimed by a conditional UPDATE: whoever loses reads again.
    """
    while True:
        number = FirmProfile.objects.values_list("next_estimate_number", flat=True).first()
        if number is None:
            raise Refusal("Set the firm up first: estimates are numbered from its settings.")
        claimed = FirmProfile.objects.filter(next_estimate_number=number)
        if claimed.update(next_estimate_number=F("next_estimate_number") + 1):
            return number


def open_estimate(estimate: Estimate) -> Estimate:
    """Return the row as it now stands, held against others' changes.

    Raises:
        Refusal: it is frozen or replaced.
    """
    row = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if row.state != Estimate.State.OPEN:
        raise Refusal(
            f"Estimate {row.label} went out with a proposal. Make a revision to change it."
        )
    return row


def work_out_again(estimate: Estimate, *, now: dt.datetime) -> None:
    """Run the engine on the estimate's own document and catalog, and keep what it says.

    Raises:
        Refusal: the engine can't work with it; the sentence says why.
    """
    try:
        read = read_with(estimate.document, estimate.catalog, may_lack_layout=True, leave_out=True)
        result = work_out(
            read,
            typed=mapping.typed_lines(estimate.typed_lines.all()) if estimate.pk else [],
            overrides=mapping.overrides(estimate.overrides.all()) if estimate.pk else [],
        )
    except EngineError as error:
        raise Refusal(in_words(str(error), line_names(estimate.document))) from error
    _keep(estimate, result, now=now)


def _price_from_scratch(estimate: Estimate, *, now: dt.datetime) -> None:
    """Take today's catalog, and work the estimate out with it."""
    try:
        today = timezone.localdate(now)
        is_repair = estimate.measurement is None
        read = read_document(
            estimate.document, today=today, may_lack_layout=is_repair, leave_out=True
        )
    except EngineError as error:
        raise Refusal(in_words(str(error), line_names(estimate.document))) from error
    estimate.catalog = read.catalog_data
    work_out_again(estimate, now=now)


def _keep(estimate: Estimate, result: EstimateResult, *, now: dt.datetime) -> None:
    money = result.money
    _refuse_unkeepable(result)
    estimate.result = mapping.to_plain(result)
    estimate.price_before_tax = money.price_before_tax
    estimate.sales_tax = money.sales_tax
    estimate.price = money.price
    estimate.margin_pct = money.margin_pct_of_price
    estimate.stop_findings = sum(finding.severity == "stop" for finding in result.findings)
    estimate.priced_at = now
    estimate.save()


def _refuse_unkeepable(result: EstimateResult) -> None:
    """Refuse sums that no column holds: SQLite would keep them and never read them back."""
    money = result.money
    extras = sum((abs(each.amount) + abs(each.tax_amount) for each in result.options), Decimal(0))
    if max(map(abs, (money.price_before_tax, money.sales_tax, money.price))) + extras > MOST_MONEY:
        raise Refusal(
            f"The price comes to {format_money(money.price)}, and options to "
            f"{format_money(extras)}: more than {format_money(MOST_MONEY)} can't be kept. "
            "Look at the quantities and prices again."
        )
    if abs(money.margin_pct_of_price) > MOST_MARGIN_PCT:
        raise Refusal(
            f"The price of {format_money(money.price)} is too far from what the work costs, "
            f"{format_money(money.break_even)}, for a margin. Look at both again."
        )


def _add_document_lines(estimate: Estimate) -> None:
    """Turn the typed lines and overrides that a file brought along into rows."""
    typed = estimate.document.get("typed_lines", [])
    by_hand = estimate.document.get("overrides", [])
    if not typed and not by_hand:
        return
    for position, fields in enumerate(typed):
        known = {name: fields[name] for name in COPIED_LINE_FIELDS if name in fields}
        estimate.typed_lines.create(**{"position": position, **known})
    for fields in by_hand:
        estimate.overrides.create(
            target=fields["target"],
            value=fields["value"],
            reason=fields["reason"],
            set_by=estimate.created_by,
            set_at=estimate.created_at,
        )
    refreshed = Estimate.objects.get(pk=estimate.pk)
    work_out_again(refreshed, now=estimate.created_at)
    estimate.refresh_from_db()


def _copy(old: Estimate, *, actor: User | None, now: dt.datetime) -> Estimate:
    typed: list[EstimateLine] = list(old.typed_lines.all())
    by_hand: list[EstimateOverride] = list(old.overrides.all())
    alternates: list[EstimateAlternate] = list(old.alternates.prefetch_related("swaps"))
    new = Estimate(
        **{
            field.attname: getattr(old, field.attname)
            for field in old._meta.concrete_fields
            if not field.primary_key
        }
    )
    new.revision, new.replaces, new.state = old.revision + 1, old, Estimate.State.OPEN
    new.created_by, new.created_at = actor, now
    new.save()
    for line in typed:
        line.pk, line.estimate, line._state.adding = None, new, True
        line.save()
    for override in by_hand:
        override.pk, override.estimate, override._state.adding = None, new, True
        override.save()
    for alternate in alternates:
        _copy_alternate(alternate, new)
    work_out_again(new, now=now)
    return new


def _copy_alternate(alternate: EstimateAlternate, new: Estimate) -> None:
    swaps = list(alternate.swaps.all())
    alternate.pk, alternate.estimate, alternate._state.adding = None, new, True
    alternate.save()
    for swap in swaps:
        swap.pk, swap.alternate, swap._state.adding = None, alternate, True
        swap.save()


def _figures(estimate: Estimate) -> dict[str, Any]:
    return {"price": estimate.price, "margin_pct": estimate.margin_pct, "state": estimate.state}
