"""Questions about clearances: where each stands, what is wrong with it, what to do next."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, cast

from firm.measure.locate import CallWindow, LocateRule, TicketDates, call_window, ticket_dates
from firm.measure.said import Said, joined
from firm.models import Clearance, JobSite, Jurisdiction, UtilityAnswer

Kind = Clearance.Kind
State = Clearance.State
Answer = UtilityAnswer.Answer

SETTLED = frozenset({State.CLEAR, State.NOT_NEEDED})
UNSETTLED_ANSWERS = frozenset({Answer.WAITING, Answer.CONFLICT})

# Common practice; who must obtain what is settled by local law and the contract.
TO_ASK = {
    Kind.PINS: Said("Ask the owner to show the survey pins and to sign where the line runs."),
    Kind.EASEMENT: Said("Look for easements, rights of way and corner sight lines on the plat."),
    Kind.PERMIT: Said("Ask the town whether this fence needs a permit, and apply for it."),
    Kind.ASSOCIATION: Said("Ask the owner whether an association must approve the fence."),
    Kind.LOCATE: Said("Request the locate ticket as soon as the start is known."),
    Kind.DEPOSIT: Said("Ask for the deposit once the proposal is accepted."),
}
TO_AWAIT = {
    Kind.PINS: Said("Wait for the owner's statement of the line."),
    Kind.EASEMENT: Said("Wait for the consent in writing."),
    Kind.PERMIT: Said("Wait for the permit card. No post is dug before it is here."),
    Kind.ASSOCIATION: Said("Wait for the approval letter, and read its conditions."),
    Kind.LOCATE: Said("Wait for every utility's answer. Silence is no answer."),
    Kind.DEPOSIT: Said("Wait for the money. Nothing is ordered before it is here."),
}
REFUSED = Said("Refused. Talk to the customer before anything else happens here.")


@dataclass(frozen=True, kw_only=True, slots=True)
class ShownClearance:
    """A clearance with what to do next and what to beware of."""

    clearance: Clearance
    tone: Literal["", "ok", "warn", "stop"]
    next_step: str
    warnings: tuple[str, ...]


def clearances_of(site: JobSite, *, today: dt.date) -> list[ShownClearance]:
    """Return a site's clearances in the order they were made; two queries."""
    rows = site.clearances.order_by("pk").prefetch_related("answers")
    return [shown_clearance(row, site.jurisdiction, today=today) for row in rows]


def shown_clearance(
    clearance: Clearance, jurisdiction: Jurisdiction | None, *, today: dt.date
) -> ShownClearance:
    """Return a clearance with its next step and its warnings."""
    warnings = _warnings(clearance, jurisdiction, today)
    return ShownClearance(
        clearance=clearance,
        tone=_tone(clearance, warnings),
        next_step=_next_step(clearance, today),
        warnings=warnings,
    )


def locate_rule(jurisdiction: Jurisdiction) -> LocateRule:
    """Return a jurisdiction's rule for locate tickets."""
    life_kind = (
        "working" if jurisdiction.locate_life_kind == Jurisdiction.DayKind.WORKING else "calendar"
    )
    return LocateRule(
        notice=jurisdiction.locate_notice,
        notice_kind=cast('Literal["working", "calendar", "hours"]', jurisdiction.locate_day_kind),
        earliest_call_days=jurisdiction.locate_earliest_call_days,
        life_days=jurisdiction.locate_life_days,
        life_kind=cast('Literal["working", "calendar"]', life_kind),
        life_from=cast('Literal["call", "start"]', jurisdiction.locate_count_from),
        renew_days_before=jurisdiction.locate_renew_days_before,
    )


def computed_dates(
    jurisdiction: Jurisdiction | None,
    *,
    asked_on: dt.date | None,
    stated_start_on: dt.date | None,
) -> TicketDates | None:
    """Return a ticket's dates by the jurisdiction's rule, where both are known."""
    if jurisdiction is None or asked_on is None:
        return None
    return ticket_dates(
        locate_rule(jurisdiction), called_on=asked_on, stated_start_on=stated_start_on
    )


def window_to_call(clearance: Clearance, jurisdiction: Jurisdiction | None) -> CallWindow | None:
    """Return when to call for the stated start, where one is known."""
    if jurisdiction is None or clearance.stated_start_on is None:
        return None
    return call_window(locate_rule(jurisdiction), start_on=clearance.stated_start_on)


def _tone(clearance: Clearance, warnings: tuple[str, ...]) -> Literal["", "ok", "warn", "stop"]:
    if clearance.state == State.REFUSED:
        return "stop"
    if warnings:
        return "warn"
    return "ok" if clearance.state in SETTLED else ""


def _next_step(clearance: Clearance, today: dt.date) -> str:
    kind = Kind(clearance.kind)
    if clearance.expires_on and clearance.expires_on < today and clearance.state == State.CLEAR:
        return Said("Ask for a new one: this one has ended.")
    steps = {
        State.NOT_ASKED: TO_ASK[kind],
        State.ASKED: TO_AWAIT[kind],
        State.REFUSED: REFUSED,
    }
    return steps.get(State(clearance.state), "")


def _warnings(
    clearance: Clearance, jurisdiction: Jurisdiction | None, today: dt.date
) -> tuple[str, ...]:
    if clearance.state in {State.NOT_NEEDED, State.REFUSED}:
        return ()
    found = list(_ending_warnings(clearance, today))
    if clearance.kind == Kind.LOCATE and clearance.state != State.NOT_ASKED:
        found += _call_warnings(clearance, jurisdiction)
        found += _answer_warnings(clearance)
        if clearance.clear_on and today < clearance.clear_on:
            found.append(Said("No digging before {day}.", day=_day(clearance.clear_on)))
    return tuple(found)


def _ending_warnings(clearance: Clearance, today: dt.date) -> list[str]:
    ends, renew = clearance.expires_on, clearance.renew_by
    if ends and ends < today:
        return [Said("Ended on {day}.", day=_day(ends))]
    if renew and renew < today and ends:
        words = Said(
            "Should have been renewed by {day}; it ends on {end}.", day=_day(renew), end=_day(ends)
        )
        return [words]
    if renew and (renew - today).days <= RENEW_SOON_DAYS:
        return [Said("Renew by {day}.", day=_day(renew))]
    return []


RENEW_SOON_DAYS = 5


def _call_warnings(clearance: Clearance, jurisdiction: Jurisdiction | None) -> list[str]:
    window = window_to_call(clearance, jurisdiction)
    called, start = clearance.asked_on, clearance.stated_start_on
    if window is None or called is None or start is None:
        return []
    if called < window.first_on:
        return [
            Said(
                "Called too early: for a start on {start} the call counts from {day} on.",
                start=_day(start),
                day=_day(window.first_on),
            )
        ]
    if called > window.last_on:
        return [
            Said(
                "Called too late for a start on {start}: the last day was {day}.",
                start=_day(start),
                day=_day(window.last_on),
            )
        ]
    return []


def _answer_warnings(clearance: Clearance) -> list[str]:
    answers = list(clearance.answers.all())
    if not answers:
        return [Said("No utility's answer is written down yet.")]
    waiting = [one.utility for one in answers if one.answer == Answer.WAITING]
    conflict = [one.utility for one in answers if one.answer == Answer.CONFLICT]
    found: list[str] = []
    if waiting:
        found.append(Said("No answer yet from {names}.", names=_names(waiting)))
    if conflict:
        found.append(Said("Talk before digging: {names}.", names=_names(conflict)))
    return found


def _day(day: dt.date) -> str:
    return Said(
        "{weekday} {month} {day}, {year}",
        weekday=Said(f"{day:%a}"),
        month=Said(f"{day:%b}"),
        day=day.day,
        year=day.year,
    )


def _names(words: Iterable[str]) -> str:
    return joined([Said(each) for each in words], ", ")
