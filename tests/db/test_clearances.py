"""Clearances: a ticket's dates by the local rule, and no clearance out of silence."""

import datetime as dt
from typing import Any

import pytest

from firm.errors import Refusal
from firm.models import AuditEntry, Clearance, JobSite, UtilityAnswer
from firm.selectors.clearances import clearances_of, shown_clearance
from firm.services.clearances import (
    add_clearance,
    add_utility_answer,
    change_clearance,
    change_utility_answer,
)
from tests.cast import NOW
from tests.firm_cast import make_jurisdiction, make_site

pytestmark = pytest.mark.django_db

MONDAY = dt.date(2026, 3, 2)
# By the town's rule (2 working days' notice, 28 days with the day of the call, renewed 3 before):
# notice Tue 3 and Wed 4; day 28 of a ticket called for on 2 March is the 29th; 29 - 3 = 26.
DIG_FROM, RENEW_BY, ENDS_ON = dt.date(2026, 3, 5), dt.date(2026, 3, 26), dt.date(2026, 3, 29)


@pytest.fixture
def site() -> JobSite:
    return make_site(jurisdiction=make_jurisdiction())


@pytest.fixture
def ticket(site: JobSite) -> Clearance:
    return site.clearances.get(kind=Clearance.Kind.LOCATE)


def change(clearance: Clearance, **values: Any) -> Clearance:
    return change_clearance(actor=None, clearance=clearance, values=values, at=NOW)


def answer(ticket: Clearance, utility: str, said: str) -> UtilityAnswer:
    values = {"utility": utility, "answer": said}
    return add_utility_answer(actor=None, clearance=ticket, values=values, at=NOW)


def warnings_on(ticket: Clearance, today: dt.date) -> str:
    kept = Clearance.objects.get(pk=ticket.pk)
    return " ".join(shown_clearance(kept, kept.site.jurisdiction, today=today).warnings)


def dates_of(clearance: Clearance) -> tuple[dt.date | None, ...]:
    return clearance.clear_on, clearance.renew_by, clearance.expires_on


def test_dates_of_a_ticket_are_worked_out_from_the_call(ticket: Clearance) -> None:
    changed = change(ticket, state="asked", number="T-1", asked_on=MONDAY)
    assert dates_of(changed) == (DIG_FROM, RENEW_BY, ENDS_ON)


def test_date_on_the_ticket_itself_rules(ticket: Clearance) -> None:
    typed = dt.date(2026, 3, 6)
    changed = change(ticket, asked_on=MONDAY, clear_on=typed, renew_by=None, expires_on=None)
    assert dates_of(changed) == (typed, RENEW_BY, ENDS_ON)


def test_dates_worked_out_before_follow_a_corrected_call(ticket: Clearance) -> None:
    changed = change(ticket, asked_on=MONDAY)
    corrected = change(
        ticket,
        asked_on=dt.date(2026, 3, 3),
        clear_on=changed.clear_on,
        renew_by=changed.renew_by,
        expires_on=dt.date(2026, 3, 31),
    )
    # The end was typed and stays; the others move on by the day.
    assert dates_of(corrected) == (
        dt.date(2026, 3, 6),
        dt.date(2026, 3, 27),
        dt.date(2026, 3, 31),
    )


def test_without_a_jurisdiction_nothing_is_worked_out() -> None:
    ticket = make_site().clearances.get(kind=Clearance.Kind.LOCATE)
    assert dates_of(change(ticket, asked_on=MONDAY)) == (None, None, None)


def test_dates_of_a_permit_are_not_worked_out(site: JobSite) -> None:
    permit = site.clearances.get(kind=Clearance.Kind.PERMIT)
    assert dates_of(change(permit, asked_on=MONDAY)) == (None, None, None)


@pytest.mark.parametrize("said", ["waiting", "conflict"])
def test_ticket_is_not_clear_while_a_utility_has_not_settled(ticket: Clearance, said: str) -> None:
    answer(ticket, "Gas", said)
    answer(ticket, "Water", "marked")
    with pytest.raises(Refusal, match="Gas must answer first") as refused:
        change(ticket, state="clear")
    assert refused.value.field == "state"
    ticket.refresh_from_db()
    assert ticket.state == Clearance.State.NOT_ASKED


def test_ticket_is_clear_once_all_have_answered(ticket: Clearance) -> None:
    gas = answer(ticket, "Gas", "waiting")
    change_utility_answer(actor=None, answer=gas, values={"answer": "nothing_there"}, at=NOW)
    assert change(ticket, state="clear").state == Clearance.State.CLEAR


def test_end_before_its_beginning_is_refused(site: JobSite) -> None:
    permit = site.clearances.get(kind=Clearance.Kind.PERMIT)
    with pytest.raises(Refusal, match="before it begins") as refused:
        change(permit, clear_on=MONDAY, expires_on=dt.date(2026, 3, 1))
    assert refused.value.field == "expires_on"


def test_number_and_utility_are_there_once(site: JobSite, ticket: Clearance) -> None:
    change(ticket, number="T-1")
    values = {"kind": "locate", "number": "T-1", "state": "asked"}
    with pytest.raises(Refusal, match="this kind and number"):
        add_clearance(actor=None, site=site, values=values, at=NOW)
    second = add_clearance(actor=None, site=site, values=values | {"number": "T-2"}, at=NOW)
    with pytest.raises(Refusal, match="this kind and number"):
        change(second, number="T-1")
    gas = answer(ticket, "Gas", "marked")
    with pytest.raises(Refusal, match="in the list already"):
        answer(ticket, "Gas", "marked")
    answer(ticket, "Water", "marked")
    with pytest.raises(Refusal, match="in the list already"):
        change_utility_answer(actor=None, answer=gas, values={"utility": "Water"}, at=NOW)


def test_change_is_recorded(ticket: Clearance) -> None:
    change(ticket, state="asked", asked_on=MONDAY)
    entry = AuditEntry.objects.get(action="changed a clearance")
    assert entry.after["state"] == "asked"
    assert entry.after["clear_on"] == "2026-03-05"


def test_warns_of_a_call_too_early_or_too_late_for_its_start(ticket: Clearance) -> None:
    # For a start on Thu 19 March a call counts from ten working days before, Thu 5, and is in
    # time until Mon 16 (two whole days, 17 and 18, between).
    start = dt.date(2026, 3, 19)
    change(ticket, state="asked", asked_on=MONDAY, stated_start_on=start)
    assert "Called too early" in warnings_on(ticket, MONDAY)
    assert "Thu Mar 5, 2026" in warnings_on(ticket, MONDAY)
    change(ticket, asked_on=dt.date(2026, 3, 17), stated_start_on=start)
    assert "Called too late" in warnings_on(ticket, MONDAY)
    change(ticket, asked_on=dt.date(2026, 3, 10), stated_start_on=start)
    assert "Called too" not in warnings_on(ticket, MONDAY)


def test_warns_before_renewal_and_after_the_end(ticket: Clearance) -> None:
    change(ticket, state="asked", asked_on=MONDAY)
    answer(ticket, "Gas", "marked")
    assert "Renew" not in warnings_on(ticket, dt.date(2026, 3, 20))
    assert warnings_on(ticket, dt.date(2026, 3, 21)) == "Renew by Thu Mar 26, 2026."
    assert "Should have been renewed" in warnings_on(ticket, dt.date(2026, 3, 27))
    assert warnings_on(ticket, dt.date(2026, 3, 30)) == "Ended on Sun Mar 29, 2026."


def test_warns_of_digging_too_soon_and_of_silence(ticket: Clearance) -> None:
    change(ticket, state="asked", asked_on=MONDAY)
    assert "No utility's answer" in warnings_on(ticket, MONDAY)
    answer(ticket, "Gas", "waiting")
    answer(ticket, "Power", "conflict")
    found = warnings_on(ticket, MONDAY)
    assert "No answer yet from Gas." in found
    assert "Talk before digging: Power." in found
    assert "No digging before Thu Mar 5, 2026." in found


def test_every_open_clearance_says_what_to_do_next(site: JobSite) -> None:
    shown = clearances_of(site, today=MONDAY)
    assert [row.tone for row in shown] == [""] * 6
    assert all(row.next_step for row in shown)


def test_clearance_that_has_run_out_is_asked_for_anew(site: JobSite) -> None:
    permit = site.clearances.get(kind=Clearance.Kind.PERMIT)
    change(permit, state="clear", expires_on=dt.date(2026, 3, 1))
    shown = shown_clearance(Clearance.objects.get(pk=permit.pk), None, today=MONDAY)
    assert (shown.tone, shown.next_step) == ("warn", "Ask for a new one: this one has ended.")
    change(permit, state="refused")
    shown = shown_clearance(Clearance.objects.get(pk=permit.pk), None, today=MONDAY)
    assert (shown.tone, shown.warnings) == ("stop", ())
