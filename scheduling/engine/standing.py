"""Where a job stands: what is signed, its papers, locate tickets, material, inspection."""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What a condition is about, in the order people settle them."""

    SIGNED = "signed"
    CANCELLATION = "cancellation"
    DEPOSIT = "deposit"
    PINS = "pins"
    EASEMENT = "easement"
    PERMIT = "permit"
    ASSOCIATION = "association"
    MATERIAL = "material"
    LOCATE = "locate"
    INSPECTION = "inspection"


class State(StrEnum):
    """How far a paper has come."""

    NOT_ASKED = "not_asked"
    ASKED = "asked"
    CLEAR = "clear"
    REFUSED = "refused"
    NOT_NEEDED = "not_needed"


class Answer(StrEnum):
    """What a utility answered to a locate ticket."""

    WAITING = "waiting"
    MARKED = "marked"
    NOTHING_THERE = "nothing_there"
    CONFLICT = "conflict"


PAPER_KINDS = (Kind.DEPOSIT, Kind.PINS, Kind.EASEMENT, Kind.PERMIT, Kind.ASSOCIATION)


@dataclass(frozen=True, kw_only=True, slots=True)
class Paper:
    """One paper or payment: `clear_on` and `expires_on` are its first and last good day."""

    kind: Kind
    state: State
    number: str = ""
    clear_on: dt.date | None = None
    expires_on: dt.date | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class UtilityAnswer:
    """What one utility answered."""

    utility: str
    answer: Answer


@dataclass(frozen=True, kw_only=True, slots=True)
class Ticket:
    """A locate ticket with each utility's own answer."""

    state: State
    number: str = ""
    clear_on: dt.date | None = None
    expires_on: dt.date | None = None
    renew_by: dt.date | None = None
    answers: tuple[UtilityAnswer, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Material:
    """What the phase is built from: when it came, or when it was promised."""

    received_on: dt.date | None = None
    promised_on: dt.date | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """Where a job stands. Moments are aware, in the firm's own time zone.

    A kind of paper that is missing counts as not asked for. Several papers of a kind must all
    hold; of several tickets one that holds is enough, for a new ticket follows an ended one.
    `material` is None where nobody keeps track of it.
    """

    signed_at: dt.datetime | None = None
    cancellation_ends_at: dt.datetime | None = None
    papers: tuple[Paper, ...] = ()
    material: Material | None = None
    tickets: tuple[Ticket, ...] = ()
    inspection_before_pour: bool = False
    inspection_booked_on: dt.date | None = None
    inspection_passed_on: dt.date | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Condition:
    """One thing to settle: whether it is met on the day asked about, since when, until when.

    `words` says how it stands, `detail` what to do or to mind, or nothing.
    """

    kind: Kind
    is_met: bool
    words: str
    detail: str = ""
    met_on: dt.date | None = None
    ends_on: dt.date | None = None
