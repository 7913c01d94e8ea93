"""What must be settled before a crew may dig and pour, and which one thing stands in the way.

Silence clears nothing: a ticket holds when every utility has answered and none objects.
"""

import datetime as dt
from collections.abc import Iterable, Sequence

from firm.measure.said import Said, joined
from scheduling.engine.standing import (
    PAPER_KINDS,
    Answer,
    Condition,
    Kind,
    Material,
    Paper,
    Standing,
    State,
    Ticket,
)
from scheduling.engine.wording import day_words, list_words

ONE_DAY = dt.timedelta(days=1)
NAMES = {
    Kind.DEPOSIT: Said("Deposit"),
    Kind.PINS: Said("Property line"),
    Kind.EASEMENT: Said("Right of way and easements"),
    Kind.PERMIT: Said("Permit"),
    Kind.ASSOCIATION: Said("Association approval"),
    Kind.LOCATE: Said("Locate ticket"),
}
STATE_WORDS = {
    State.NOT_ASKED: Said("not asked for yet"),
    State.ASKED: Said("asked for, not here yet"),
    State.REFUSED: Said("refused"),
}


def conditions(standing: Standing, *, on: dt.date | dt.datetime) -> tuple[Condition, ...]:
    """Return every condition as it stands on a day or at a moment, in the order of `Kind`.

    A day is judged from its first minute: what ends in the middle of it is not over.
    """
    day = _day_of(on)
    found = [_signed(standing, day), _cancellation(standing, on)]
    found += [_paper_kind(standing.papers, kind, day) for kind in PAPER_KINDS]
    if standing.material is not None:
        found.append(_material(standing.material, day))
    found.append(_locate(standing.tickets, day))
    found.append(_inspection(standing, day))
    return tuple(found)


def first_block(found: Iterable[Condition]) -> Condition | None:
    """Return the first condition that is not met."""
    return next((one for one in found if not one.is_met), None)


def dig_block(standing: Standing, *, on: dt.date | dt.datetime) -> Condition | None:
    """Return the one thing that bars digging, if any.

    The inspection is not one: holes are dug in the morning, seen, and poured after.
    """
    found = conditions(standing, on=on)
    return first_block(one for one in found if one.kind != Kind.INSPECTION)


def may_dig(standing: Standing, *, on: dt.date | dt.datetime) -> bool:
    """Say whether a crew may dig on that day."""
    return dig_block(standing, on=on) is None


def may_pour(standing: Standing, *, on: dt.date | dt.datetime) -> bool:
    """Say whether a crew may fill its holes on that day: dig, and no inspection is open."""
    return first_block(conditions(standing, on=on)) is None


def material_by(
    materials: Iterable[Material], *, on: dt.date, today: dt.date
) -> tuple[Condition, ...]:
    """Return how each material stands for work planned on a day.

    A promise counts for the days after it, until it is broken: that day has come and it has not.
    """
    return tuple(_planned_material(each, on, today) for each in materials)


def last_to_come(materials: Iterable[Material]) -> Material | None:
    """Return the material that comes last: one without a date, else the latest."""
    return max(materials, key=_arrival, default=None)


def inspection_by(standing: Standing, *, on: dt.date) -> Condition:
    """Return how the inspection stands for concrete planned on a day.

    One that is booked by then counts: dug in the morning, seen at noon, poured after.
    """
    found = _inspection(standing, on)
    booked = standing.inspection_booked_on
    if not found.is_met and booked and booked <= on and standing.inspection_passed_on is None:
        words = Said("Footing inspection booked for {day}.", day=day_words(booked))
        return Condition(kind=Kind.INSPECTION, is_met=True, words=words, met_on=booked)
    return found


def _day_of(on: dt.date | dt.datetime) -> dt.date:
    return on.date() if isinstance(on, dt.datetime) else on


def _signed(standing: Standing, day: dt.date) -> Condition:
    signed_on = standing.signed_at and standing.signed_at.date()
    if signed_on is None or signed_on > day:
        return Condition(
            kind=Kind.SIGNED,
            is_met=False,
            words=Said("Not signed yet."),
            detail=Said("Ask the customer to sign the proposal."),
            met_on=signed_on,
        )
    words = Said("Signed on {day}.", day=day_words(signed_on))
    return Condition(kind=Kind.SIGNED, is_met=True, words=words, met_on=signed_on)


def _cancellation(standing: Standing, on: dt.date | dt.datetime) -> Condition:
    kind, ends_at = Kind.CANCELLATION, standing.cancellation_ends_at
    if ends_at is None:
        if standing.signed_at is None:
            words = Said("The time to cancel has not begun.")
            detail = Said("It begins when the customer signs.")
            return Condition(kind=kind, is_met=False, words=words, detail=detail)
        return Condition(kind=kind, is_met=True, words=Said("No right to cancel applies."))
    now = on if isinstance(on, dt.datetime) else _first_minute(on, ends_at)
    over_on = ends_at.date() if ends_at == _first_minute(ends_at, ends_at) else _next_day(ends_at)
    if now < ends_at:
        return Condition(
            kind=kind,
            is_met=False,
            words=Said("The customer may still cancel."),
            detail=Said("That time is over from {day} on.", day=day_words(over_on)),
            met_on=over_on,
        )
    return Condition(
        kind=kind, is_met=True, words=Said("The time to cancel is over."), met_on=over_on
    )


def _first_minute(day: dt.date, like: dt.datetime) -> dt.datetime:
    return dt.datetime(day.year, day.month, day.day, tzinfo=like.tzinfo)


def _next_day(moment: dt.datetime) -> dt.date:
    return moment.date() + ONE_DAY


def _paper_kind(papers: Sequence[Paper], kind: Kind, day: dt.date) -> Condition:
    """Return the first paper of a kind that does not hold, else the one that ends first."""
    mine = [paper for paper in papers if paper.kind == kind]
    found = [_paper(paper, day) for paper in mine or [Paper(kind=kind, state=State.NOT_ASKED)]]
    return first_block(found) or min(found, key=lambda one: one.ends_on or dt.date.max)


def _paper(paper: Paper, day: dt.date) -> Condition:
    name = joined([NAMES[paper.kind], paper.number])
    if paper.state == State.NOT_NEEDED:
        return Condition(kind=paper.kind, is_met=True, words=Said("{name}: not needed.", name=name))
    if paper.state != State.CLEAR:
        return _unmet(paper, Said("{name}: {how}.", name=name, how=STATE_WORDS[paper.state]))
    if paper.clear_on and day < paper.clear_on:
        return _unmet(
            paper, Said("{name}: good from {day} only.", name=name, day=day_words(paper.clear_on))
        )
    if paper.expires_on and paper.expires_on < day:
        return _unmet(
            paper,
            Said("{name}: ended on {day}.", name=name, day=day_words(paper.expires_on)),
            Said("Ask anew."),
        )
    return Condition(
        kind=paper.kind,
        is_met=True,
        words=Said("{name}: settled.", name=name),
        detail=Said("Ends on {day}.", day=day_words(paper.expires_on)) if paper.expires_on else "",
        met_on=paper.clear_on,
        ends_on=paper.expires_on,
    )


def _unmet(paper: Paper, words: str, detail: str = "") -> Condition:
    return Condition(
        kind=paper.kind,
        is_met=False,
        words=words,
        detail=detail,
        met_on=paper.clear_on,
        ends_on=paper.expires_on,
    )


def _material(material: Material, day: dt.date) -> Condition:
    kind, came, promised = Kind.MATERIAL, material.received_on, material.promised_on
    if came and came <= day:
        return Condition(
            kind=kind,
            is_met=True,
            words=Said("Material: here since {day}.", day=day_words(came)),
            met_on=came,
        )
    due = came or promised
    words = (
        Said("Material: promised for {day}.", day=day_words(due))
        if due
        else Said("Material: no date promised.")
    )
    detail = Said("Have it in the yard before the crew leaves.")
    return Condition(kind=kind, is_met=False, words=words, detail=detail, met_on=due)


def _planned_material(material: Material, day: dt.date, today: dt.date) -> Condition:
    found, promised = _material(material, day), material.promised_on
    is_due = promised is not None and today <= promised < day
    if found.is_met or material.received_on is not None or not is_due:
        return found
    return Condition(kind=Kind.MATERIAL, is_met=True, words=found.words, detail=found.detail)


def _arrival(material: Material) -> tuple[bool, dt.date]:
    due = material.received_on or material.promised_on or dt.date.max
    return material.received_on is None, due


def _locate(tickets: Sequence[Ticket], day: dt.date) -> Condition:
    """Return the ticket that holds, else how the newest of them (the last) stands.

    A conflict on any ticket that has not ended bars the dig: another ticket doesn't unsay it.
    One that is not needed says nothing about the others.
    """
    if not tickets:
        return Condition(
            kind=Kind.LOCATE,
            is_met=False,
            words=Said("No locate ticket."),
            detail=Said("Request one before anybody digs."),
        )
    needed = [one for one in tickets if one.state != State.NOT_NEEDED] or tickets
    for one in needed:
        has_ended = one.expires_on is not None and one.expires_on < day
        if _utilities(one, Answer.CONFLICT) and not has_ended:
            return _ticket(one, day)
    found = [_ticket(one, day) for one in needed]
    return next((one for one in found if one.is_met), found[-1])


def _ticket(ticket: Ticket, day: dt.date) -> Condition:
    name = joined([NAMES[Kind.LOCATE], ticket.number])
    if ticket.state == State.NOT_NEEDED:
        return Condition(
            kind=Kind.LOCATE, is_met=True, words=Said("{name}: not needed.", name=name)
        )
    block = _answers_block(ticket) or _dates_block(ticket, day)
    if block is None:
        words, detail = (
            Said("{name}: good on {day}.", name=name, day=day_words(day)),
            _ticket_end(ticket, day),
        )
    else:
        words, detail = Said("{name}: {how}.", name=name, how=block[0]), block[1]
    return Condition(
        kind=Kind.LOCATE,
        is_met=block is None,
        words=words,
        detail=detail,
        met_on=ticket.clear_on,
        ends_on=ticket.expires_on,
    )


def _utilities(ticket: Ticket, answer: Answer) -> list[str]:
    return [one.utility for one in ticket.answers if one.answer == answer]


def _answers_block(ticket: Ticket) -> tuple[str, str] | None:
    """Return what bars the dig and what to do about it, by state and answers."""
    if ticket.state in {State.NOT_ASKED, State.REFUSED}:
        return STATE_WORDS[ticket.state], Said("Request one before anybody digs.")
    if disputed := _utilities(ticket, Answer.CONFLICT):
        return (
            Said("{utilities} must be talked to first", utilities=list_words(disputed)),
            Said("No digging before that is settled."),
        )
    if silent := _utilities(ticket, Answer.WAITING):
        return Said("no answer yet from {utilities}", utilities=list_words(silent)), Said(
            "Silence is no clearance."
        )
    if not ticket.answers:
        return Said("no utility has answered yet"), Said("Silence is no clearance.")
    if ticket.state != State.CLEAR:
        return Said("not marked clear"), Said(
            "Every utility has answered: check its dates and mark it clear."
        )
    return None


def _dates_block(ticket: Ticket, day: dt.date) -> tuple[str, str] | None:
    if ticket.clear_on is None or ticket.expires_on is None:
        return Said("first or last day not written down"), Said("Copy both days from the ticket.")
    if day < ticket.clear_on:
        return Said("no digging before {day}", day=day_words(ticket.clear_on)), Said(
            "Move the dig."
        )
    if ticket.expires_on < day:
        return Said("ended on {day}", day=day_words(ticket.expires_on)), Said("Request a new one.")
    return None


def _ticket_end(ticket: Ticket, day: dt.date) -> str:
    last = day_words(ticket.expires_on or day)
    if ticket.renew_by and day <= ticket.renew_by:
        renew = day_words(ticket.renew_by)
        return Said("Last day to dig is {last}; renew by {renew}.", last=last, renew=renew)
    return Said("Last day to dig is {last}.", last=last)


def _inspection(standing: Standing, day: dt.date) -> Condition:
    kind, passed = Kind.INSPECTION, standing.inspection_passed_on
    if not standing.inspection_before_pour:
        return Condition(kind=kind, is_met=True, words=Said("No inspection before concrete."))
    if passed and passed <= day:
        words = Said("Footing inspection passed on {day}.", day=day_words(passed))
        return Condition(kind=kind, is_met=True, words=words, met_on=passed)
    booked = standing.inspection_booked_on
    detail = (
        Said("Booked for {day}.", day=day_words(booked)) if booked else Said("Book it a day ahead.")
    )
    words = Said("Footing inspection still open: holes may be dug, not filled.")
    return Condition(kind=kind, is_met=False, words=words, detail=detail, met_on=passed or booked)
