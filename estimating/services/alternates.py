"""Alternates of an estimate: adding them, dropping them, and making one an estimate of its own."""

import datetime as dt
from collections.abc import Sequence

from django.db import IntegrityError, transaction
from django.db.models import Max

from estimating import mapping
from estimating.engine.alternates import Swap, substituted
from estimating.engine.errors import EngineError
from estimating.models import AlternateSwap, Estimate, EstimateAlternate, EstimateOverride
from estimating.selectors.alternates import key_of, priced_alternates
from estimating.selectors.place_words import in_words
from estimating.services.estimates import (
    TITLE_MAX_CHARS,
    claim_number,
    open_estimate,
    work_out_again,
)
from firm.errors import Refusal
from firm.measure.money import format_money
from firm.models import User
from firm.services.audit import record

MOST_ALTERNATES = 6


@transaction.atomic
def add_alternate(
    *,
    estimate: Estimate,
    name: str,
    swaps: Sequence[Swap],
    actor: User | None,
    now: dt.datetime,
) -> EstimateAlternate:
    """Add a named way to build the estimate's site otherwise.

    Raises:
        Refusal: the estimate is not open, nothing is otherwise, the name is taken, there are many
            already, or a line or gate is not there.
    """
    row = open_estimate(estimate)
    if not swaps:
        raise Refusal("Choose what is otherwise: another system or another opening.")
    if row.alternates.count() >= MOST_ALTERNATES:
        raise Refusal(f"{MOST_ALTERNATES} alternates are as many as anyone compares.")
    try:
        substituted(row.document, swaps)
    except EngineError as error:
        raise Refusal(in_words(str(error))) from error
    last = row.alternates.aggregate(last=Max("position"))["last"]
    alternate = EstimateAlternate(estimate=row, name=name, position=0 if last is None else last + 1)
    try:
        with transaction.atomic():
            alternate.save()
    except IntegrityError as error:
        raise Refusal("An alternate of this name is there already.", field="name") from error
    AlternateSwap.objects.bulk_create(
        AlternateSwap(
            alternate=alternate,
            line_id=swap.line_id,
            gate_id=swap.gate_id,
            system=swap.system,
            opening_in=swap.opening_in,
        )
        for swap in swaps
    )
    record(
        actor=actor,
        action="added an alternate",
        target=row,
        after={"alternate": name, "swaps": [mapping.to_plain(swap) for swap in swaps]},
        at=now,
    )
    return alternate


@transaction.atomic
def drop_alternate(*, alternate: EstimateAlternate, actor: User | None, now: dt.datetime) -> None:
    """Take an alternate out of an open estimate.

    Raises:
        Refusal: the estimate is not open.
    """
    row = open_estimate(alternate.estimate)
    name = alternate.name
    alternate.delete()
    record(
        actor=actor, action="took out an alternate", target=row, before={"alternate": name}, at=now
    )


@transaction.atomic
def estimate_of_alternate(
    *, alternate: EstimateAlternate, actor: User | None, now: dt.datetime
) -> Estimate:
    """Make an alternate an open estimate of its own, at the very price it was compared at.

    It keeps the first one's prices, typed lines and the figures set by hand that still fit.

    Raises:
        Refusal: it can't be worked with.
    """
    old = Estimate.objects.select_for_update().get(pk=alternate.estimate_id)
    key = key_of(alternate)
    try:
        priced = next(each for each in priced_alternates(old) if each.alternate.key == key)
    except EngineError as error:
        raise Refusal(in_words(str(error))) from error
    if priced.result is None:
        raise Refusal(priced.problem)
    new = Estimate(
        number=claim_number(),
        customer_id=old.customer_id,
        site_id=old.site_id,
        title=f"{old.title}: {alternate.name}"[:TITLE_MAX_CHARS],
        notes=old.notes,
        document=substituted(old.document, priced.alternate.swaps),
        catalog=old.catalog,
        created_by=actor,
        created_at=now,
    )
    new.save()
    for line in old.typed_lines.all():
        line.pk, line.estimate, line._state.adding = None, new, True
        line.save()
    EstimateOverride.objects.bulk_create(
        EstimateOverride(
            estimate=new,
            target=each.target,
            value=each.value,
            reason=each.reason,
            set_by=actor,
            set_at=now,
        )
        for each in priced.kept
    )
    work_out_again(new, now=now)
    if new.price != priced.result.money.price:
        raise Refusal(
            f"The alternate was compared at {format_money(priced.result.money.price)} and comes to "
            f"{format_money(new.price)} by itself. Nothing was made: look at the estimate again."
        )
    record(
        actor=actor,
        action="made an alternate an estimate",
        target=new,
        before={"estimate": old.label, "alternate": alternate.name},
        after={"price": new.price},
        at=now,
    )
    return new
