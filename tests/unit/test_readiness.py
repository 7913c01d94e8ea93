"""What bars a crew from digging and pouring, and that silence never clears it."""

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.readiness import (
    conditions,
    dig_block,
    first_block,
    last_to_come,
    may_dig,
    may_pour,
)
from scheduling.engine.standing import (
    Answer,
    Condition,
    Kind,
    Material,
    Paper,
    Standing,
    State,
    Ticket,
    UtilityAnswer,
)

CHICAGO = ZoneInfo("America/Chicago")
PAPERS = (Kind.DEPOSIT, Kind.PINS, Kind.EASEMENT, Kind.PERMIT, Kind.ASSOCIATION)


def march(day: int) -> dt.date:
    """Return a day of March 2026; the 2nd is a Monday."""
    return dt.date(2026, 3, day)


def at(day: int, hour: int = 0) -> dt.datetime:
    return dt.datetime(2026, 3, day, hour, tzinfo=CHICAGO)


def answers(*given_ones: Answer) -> tuple[UtilityAnswer, ...]:
    names = ("Gas", "Power", "Water")
    return tuple(
        UtilityAnswer(utility=name, answer=answer)
        for name, answer in zip(names, given_ones, strict=False)
    )


TICKET = Ticket(
    state=State.CLEAR,
    number="T-1",
    clear_on=march(10),
    expires_on=march(20),
    renew_by=march(18),
    answers=answers(Answer.MARKED, Answer.NOTHING_THERE),
)
# Everything is settled; digging is free from 10 to 20 March.
READY = Standing(
    signed_at=at(2, 16),
    cancellation_ends_at=at(6),
    papers=tuple(Paper(kind=kind, state=State.CLEAR) for kind in PAPERS),
    tickets=(TICKET,),
)


def with_ticket(**changes: object) -> Standing:
    return replace(READY, tickets=(replace(TICKET, **changes),))  # type: ignore[arg-type]


def with_paper(*papers: Paper) -> Standing:
    kept = tuple(one for one in READY.papers if one.kind != papers[0].kind)
    return replace(READY, papers=kept + papers)


def found(standing: Standing, kind: Kind, on: dt.date) -> Condition:
    return next(one for one in conditions(standing, on=on) if one.kind == kind)


def test_conditions_come_in_the_order_people_settle_them() -> None:
    kinds = [one.kind for one in conditions(replace(READY, material=Material()), on=march(10))]
    assert kinds == list(Kind)


def test_material_nobody_keeps_track_of_is_not_asked_for() -> None:
    assert Kind.MATERIAL not in [one.kind for one in conditions(READY, on=march(10))]


def test_digging_is_free_where_everything_is_settled() -> None:
    assert first_block(conditions(READY, on=march(10))) is None
    assert may_dig(READY, on=march(10))
    assert may_dig(READY, on=at(20, 17))
    assert may_pour(READY, on=march(20))


def test_first_block_is_the_first_of_them_not_the_only_one() -> None:
    block = first_block(conditions(Standing(), on=march(10)))
    assert block == Condition(
        kind=Kind.SIGNED,
        is_met=False,
        words="Not signed yet.",
        detail="Ask the customer to sign the proposal.",
    )
    unmet = [one.kind for one in conditions(Standing(), on=march(10)) if not one.is_met]
    assert unmet == [Kind.SIGNED, Kind.CANCELLATION, *PAPERS, Kind.LOCATE]


def test_signature_counts_from_its_day() -> None:
    assert not found(READY, Kind.SIGNED, march(1)).is_met
    signed = found(READY, Kind.SIGNED, march(2))
    assert (signed.is_met, signed.met_on) == (True, march(2))
    assert signed.words == "Signed on Mon Mar 2, 2026."


def test_time_to_cancel_that_ends_at_midnight_is_over_that_day() -> None:
    # Signed Mon 2; Tue, Wed, Thu are the three days; over at the first minute of Fri 6.
    still = found(READY, Kind.CANCELLATION, march(5))
    assert (still.is_met, still.met_on) == (False, march(6))
    assert still.detail == "That time is over from Fri Mar 6, 2026 on."
    assert found(READY, Kind.CANCELLATION, march(6)).is_met


def test_time_to_cancel_that_ends_within_a_day_bars_that_day_but_not_its_evening() -> None:
    late = replace(READY, cancellation_ends_at=at(6, 15))
    assert not found(late, Kind.CANCELLATION, march(6)).is_met
    assert not found(late, Kind.CANCELLATION, at(6, 14)).is_met
    assert found(late, Kind.CANCELLATION, at(6, 15)).is_met
    assert found(late, Kind.CANCELLATION, march(7)).met_on == march(7)


def test_without_a_right_to_cancel_signing_is_enough() -> None:
    assert found(replace(READY, cancellation_ends_at=None), Kind.CANCELLATION, march(2)).is_met
    unsigned = found(Standing(), Kind.CANCELLATION, march(2))
    assert not unsigned.is_met
    assert unsigned.words == "The time to cancel has not begun."


@pytest.mark.parametrize("kind", PAPERS)
@pytest.mark.parametrize(
    ("state", "is_met", "words"),
    [
        (State.NOT_ASKED, False, "not asked for yet."),
        (State.ASKED, False, "asked for, not here yet."),
        (State.REFUSED, False, "refused."),
        (State.CLEAR, True, "settled."),
        (State.NOT_NEEDED, True, "not needed."),
    ],
)
def test_paper_is_met_where_it_is_here_or_not_needed(
    kind: Kind, state: State, is_met: bool, words: str
) -> None:
    standing = with_paper(Paper(kind=kind, state=state))
    one = found(standing, kind, march(10))
    assert one.is_met is is_met
    assert one.words.endswith(words)
    assert may_dig(standing, on=march(10)) is is_met


@pytest.mark.parametrize("kind", PAPERS)
def test_paper_nobody_wrote_down_counts_as_not_asked_for(kind: Kind) -> None:
    standing = replace(READY, papers=tuple(one for one in READY.papers if one.kind != kind))
    block = dig_block(standing, on=march(10))
    assert block is not None
    assert (block.kind, block.words.endswith("not asked for yet.")) == (kind, True)


def test_permit_holds_from_its_first_to_its_last_day() -> None:
    permit = Paper(
        kind=Kind.PERMIT,
        state=State.CLEAR,
        number="P-7",
        clear_on=march(11),
        expires_on=march(13),
    )
    standing = with_paper(permit)
    assert [may_dig(standing, on=march(day)) for day in (10, 11, 13, 14)] == [
        False,
        True,
        True,
        False,
    ]
    early = found(standing, Kind.PERMIT, march(10))
    assert early.words == "Permit P-7: good from Wed Mar 11, 2026 only."
    assert (early.met_on, early.ends_on) == (march(11), march(13))
    late = found(standing, Kind.PERMIT, march(14))
    assert (late.words, late.detail) == ("Permit P-7: ended on Fri Mar 13, 2026.", "Ask anew.")
    assert found(standing, Kind.PERMIT, march(11)).detail == "Ends on Fri Mar 13, 2026."


def test_of_two_permits_both_must_hold() -> None:
    fence = Paper(kind=Kind.PERMIT, state=State.CLEAR, number="A", expires_on=march(30))
    street = Paper(kind=Kind.PERMIT, state=State.CLEAR, number="B", expires_on=march(12))
    both = with_paper(fence, street)
    assert found(both, Kind.PERMIT, march(10)).ends_on == march(12)
    assert found(both, Kind.PERMIT, march(13)).words.startswith("Permit B: ended")
    waiting = with_paper(fence, replace(street, state=State.ASKED))
    assert found(waiting, Kind.PERMIT, march(10)).words == "Permit B: asked for, not here yet."


@pytest.mark.parametrize(
    ("material", "is_met", "words", "met_on"),
    [
        (Material(received_on=march(9)), True, "Material: here since Mon Mar 9, 2026.", march(9)),
        (
            Material(received_on=march(12), promised_on=march(11)),
            False,
            "Material: promised for Thu Mar 12, 2026.",
            march(12),
        ),
        (
            Material(promised_on=march(9)),
            False,
            "Material: promised for Mon Mar 9, 2026.",
            march(9),
        ),
        (Material(), False, "Material: no date promised.", None),
    ],
)
def test_material_counts_when_it_came_not_when_it_was_promised(
    material: Material, is_met: bool, words: str, met_on: dt.date | None
) -> None:
    standing = replace(READY, material=material)
    one = found(standing, Kind.MATERIAL, march(10))
    assert (one.is_met, one.words, one.met_on) == (is_met, words, met_on)
    assert may_dig(standing, on=march(10)) is is_met


def test_ticket_clears_its_own_days_and_no_others() -> None:
    assert [may_dig(READY, on=march(day)) for day in (9, 10, 20, 21)] == [False, True, True, False]
    assert found(READY, Kind.LOCATE, march(9)).words == (
        "Locate ticket T-1: no digging before Tue Mar 10, 2026."
    )
    ended = found(READY, Kind.LOCATE, march(21))
    assert ended.words == "Locate ticket T-1: ended on Fri Mar 20, 2026."
    assert ended.detail == "Request a new one."
    assert (ended.met_on, ended.ends_on) == (march(10), march(20))


def test_ticket_that_holds_names_its_last_day_and_the_day_to_renew() -> None:
    good = found(READY, Kind.LOCATE, march(18))
    assert good.words == "Locate ticket T-1: good on Wed Mar 18, 2026."
    assert good.detail == "Last day to dig is Fri Mar 20, 2026; renew by Wed Mar 18, 2026."
    assert found(READY, Kind.LOCATE, march(19)).detail == "Last day to dig is Fri Mar 20, 2026."
    assert found(with_ticket(renew_by=None), Kind.LOCATE, march(12)).detail == (
        "Last day to dig is Fri Mar 20, 2026."
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"answers": answers(Answer.MARKED, Answer.WAITING, Answer.WAITING)},
            "no answer yet from Power, Water",
        ),
        (
            {"answers": answers(Answer.CONFLICT, Answer.WAITING)},
            "Gas must be talked to first",
        ),
        ({"answers": ()}, "no utility has answered yet"),
        ({"state": State.ASKED}, "not marked clear"),
        ({"state": State.NOT_ASKED}, "not asked for yet"),
        ({"state": State.REFUSED}, "refused"),
        ({"clear_on": None}, "first or last day not written down"),
        ({"expires_on": None}, "first or last day not written down"),
    ],
)
def test_ticket_that_does_not_hold_says_why(changes: dict[str, object], words: str) -> None:
    standing = with_ticket(**changes)
    one = found(standing, Kind.LOCATE, march(12))
    assert (one.is_met, one.words) == (False, f"Locate ticket T-1: {words}.")
    assert one.detail
    assert not may_dig(standing, on=march(12))


def test_ticket_that_is_not_needed_counts_as_met_whatever_was_answered() -> None:
    standing = with_ticket(state=State.NOT_NEEDED, answers=answers(Answer.CONFLICT))
    assert may_dig(standing, on=march(12))
    assert found(standing, Kind.LOCATE, march(12)).words == "Locate ticket T-1: not needed."


def test_no_ticket_bars_the_dig() -> None:
    one = found(replace(READY, tickets=()), Kind.LOCATE, march(12))
    assert (one.is_met, one.words) == (False, "No locate ticket.")


def test_new_ticket_follows_an_ended_one() -> None:
    newer = replace(TICKET, number="T-2", clear_on=march(19), expires_on=march(30))
    both = replace(READY, tickets=(TICKET, newer))
    assert found(both, Kind.LOCATE, march(19)).words.startswith("Locate ticket T-1: good")
    assert found(both, Kind.LOCATE, march(21)).words.startswith("Locate ticket T-2: good")
    assert found(both, Kind.LOCATE, march(31)).words.startswith("Locate ticket T-2: ended")


def test_conflict_on_a_running_ticket_is_not_unsaid_by_another() -> None:
    disputed = replace(
        TICKET, number="T-2", expires_on=None, answers=answers(Answer.CONFLICT, Answer.MARKED)
    )
    standing = replace(READY, tickets=(disputed, TICKET))
    assert found(standing, Kind.LOCATE, march(12)).words == (
        "Locate ticket T-2: Gas must be talked to first."
    )
    ended = replace(disputed, expires_on=march(11))
    assert may_dig(replace(READY, tickets=(ended, TICKET)), on=march(12))


def test_ticket_that_is_not_needed_does_not_speak_for_another() -> None:
    spare = Ticket(state=State.NOT_NEEDED, answers=answers(Answer.CONFLICT))
    silent = replace(TICKET, number="T-2", answers=answers(Answer.WAITING))
    assert not may_dig(replace(READY, tickets=(spare, silent)), on=march(12))
    disputed = replace(TICKET, number="T-3", answers=answers(Answer.CONFLICT))
    assert not may_dig(replace(READY, tickets=(spare, TICKET, disputed)), on=march(12))
    assert may_dig(replace(READY, tickets=(TICKET, spare)), on=march(12))
    assert may_dig(replace(READY, tickets=(spare, spare)), on=march(12))


def test_open_inspection_bars_the_pour_but_not_the_dig() -> None:
    standing = replace(READY, inspection_before_pour=True)
    assert may_dig(standing, on=march(12))
    assert not may_pour(standing, on=march(12))
    assert found(standing, Kind.INSPECTION, march(12)).detail == "Book it a day ahead."
    booked = replace(standing, inspection_booked_on=march(13))
    one = found(booked, Kind.INSPECTION, march(12))
    assert (one.detail, one.met_on) == ("Booked for Fri Mar 13, 2026.", march(13))


def test_passed_inspection_frees_the_pour_from_its_day() -> None:
    standing = replace(READY, inspection_before_pour=True, inspection_passed_on=march(12))
    assert not may_pour(standing, on=march(11))
    assert may_pour(standing, on=march(12))
    assert found(standing, Kind.INSPECTION, march(12)).words == (
        "Footing inspection passed on Thu Mar 12, 2026."
    )


@given(
    state=st.sampled_from([one for one in State if one != State.NOT_NEEDED]),
    clear_on=st.none() | st.integers(1, 30).map(march),
    expires_on=st.none() | st.integers(1, 30).map(march),
    given_answers=st.lists(st.sampled_from(list(Answer)), max_size=3),
    on=st.integers(1, 31).map(march),
)
def test_dig_is_free_only_within_the_ticket_and_with_every_answer(
    state: State,
    clear_on: dt.date | None,
    expires_on: dt.date | None,
    given_answers: list[Answer],
    on: dt.date,
) -> None:
    standing = with_ticket(
        state=state,
        clear_on=clear_on,
        expires_on=expires_on,
        answers=answers(*given_answers),
    )
    # The rule said again without the engine: everything else is over by the 6th.
    allowed = (
        state == State.CLEAR
        and clear_on is not None
        and expires_on is not None
        and clear_on <= on <= expires_on
        and len(given_answers) > 0
        and set(given_answers) <= {Answer.MARKED, Answer.NOTHING_THERE}
        and on >= march(6)
    )
    assert may_dig(standing, on=on) is allowed


def test_of_several_materials_the_one_that_comes_last_counts() -> None:
    here, late = Material(received_on=march(9)), Material(received_on=march(12))
    promised, unknown = Material(promised_on=march(10)), Material()
    assert last_to_come([]) is None
    assert last_to_come([late, here]) == late
    # What is not here may still fail to come, whatever was promised.
    assert last_to_come([late, promised]) == promised
    assert last_to_come([promised, unknown, here]) == unknown
