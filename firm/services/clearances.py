"""Changing clearances, and writing down what utilities answer to a locate ticket."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import IntegrityError, transaction

from firm.errors import Refusal
from firm.models import Clearance, JobSite, User, UtilityAnswer
from firm.selectors.clearances import UNSETTLED_ANSWERS, computed_dates
from firm.services.saving import add_row, change_row, locked

COMPUTED = ("clear_on", "renew_by", "expires_on")
SAME_NUMBER = "This site has a clearance of this kind and number already."
SAME_UTILITY = "This utility's answer is in the list already: change that one."


def add_clearance(
    *, actor: User | None, site: JobSite, values: Mapping[str, Any], at: dt.datetime
) -> Clearance:
    """Add a further clearance to a site: a second permit, a new ticket.

    Raises:
        Refusal: the number is there already, or the dates contradict one another.
    """
    clearance = Clearance(**values, site=site)
    _refuse_contradictions(clearance)
    for name, value in _ticket_days(clearance, stored=None).items():
        setattr(clearance, name, value)
    try:
        return add_row(clearance, actor=actor, action="added a clearance", at=at)
    except IntegrityError as error:
        raise Refusal(SAME_NUMBER, field="number") from error


@transaction.atomic
def change_clearance(
    *, actor: User | None, clearance: Clearance, values: Mapping[str, Any], at: dt.datetime
) -> Clearance:
    """Change a clearance; a locate ticket's dates that nobody typed follow the local rule.

    Raises:
        Refusal: the number is there already, the dates contradict one another, or a ticket is
            called clear while a utility has not answered.
    """
    stored = locked(clearance)
    wanted = Clearance(pk=stored.pk, site=stored.site, kind=stored.kind)
    for name in (field.attname for field in Clearance._meta.concrete_fields):
        setattr(wanted, name, values.get(name, getattr(stored, name)))
    _refuse_contradictions(wanted)
    _refuse_silence(wanted)
    changes = {**values, **_ticket_days(wanted, stored=stored)}
    try:
        with transaction.atomic():
            return change_row(
                stored, changes=changes, actor=actor, action="changed a clearance", at=at
            )
    except IntegrityError as error:
        raise Refusal(SAME_NUMBER, field="number") from error


def add_utility_answer(
    *, actor: User | None, clearance: Clearance, values: Mapping[str, Any], at: dt.datetime
) -> UtilityAnswer:
    """Write down what a utility answered.

    Raises:
        Refusal: this utility is in the list already.
    """
    answer = UtilityAnswer(**values, clearance=clearance)
    try:
        return add_row(answer, actor=actor, action="added a utility's answer", at=at)
    except IntegrityError as error:
        raise Refusal(SAME_UTILITY, field="utility") from error


def change_utility_answer(
    *, actor: User | None, answer: UtilityAnswer, values: Mapping[str, Any], at: dt.datetime
) -> UtilityAnswer:
    """Change what a utility answered.

    Raises:
        Refusal: another row has this utility already.
    """
    try:
        return change_row(
            answer, changes=values, actor=actor, action="changed a utility's answer", at=at
        )
    except IntegrityError as error:
        raise Refusal(SAME_UTILITY, field="utility") from error


def _refuse_contradictions(wanted: Clearance) -> None:
    begins, ends = wanted.clear_on, wanted.expires_on
    if begins and ends and ends < begins:
        raise Refusal("It can't end before it begins.", field="expires_on")


def _refuse_silence(wanted: Clearance) -> None:
    if wanted.kind != Clearance.Kind.LOCATE or wanted.state != Clearance.State.CLEAR:
        return
    open_ones = wanted.answers.filter(answer__in=UNSETTLED_ANSWERS)
    names = list(open_ones.values_list("utility", flat=True))
    if names:
        raise Refusal(
            f"Not clear yet: {', '.join(names)} must answer first. Silence is no clearance.",
            field="state",
        )


def _ticket_days(wanted: Clearance, *, stored: Clearance | None) -> dict[str, dt.date]:
    """Return the dates the local rule gives, where they are empty or were worked out before."""
    if wanted.kind != Clearance.Kind.LOCATE:
        return {}
    jurisdiction = wanted.site.jurisdiction
    by_rule = computed_dates(
        jurisdiction, asked_on=wanted.asked_on, stated_start_on=wanted.stated_start_on
    )
    if by_rule is None:
        return {}
    before = stored and computed_dates(
        jurisdiction, asked_on=stored.asked_on, stated_start_on=stored.stated_start_on
    )
    return {
        name: getattr(by_rule, name)
        for name in COMPUTED
        if getattr(wanted, name) is None
        or (before and getattr(wanted, name) == getattr(stored, name) == getattr(before, name))
    }
