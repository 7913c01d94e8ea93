"""Placing a block against a rule: by the owner alone, with a note, and never without a ticket."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from firm.errors import Refusal
from firm.models import User
from firm.services.saving import change_row
from scheduling.engine.breaches import NEVER_OVERRIDDEN, Violation
from scheduling.models import CrewDay

NO_OVERRIDE: dict[str, Any] = {
    "override_note": "",
    "override_breaches": [],
    "override_by": None,
    "override_name": "",
    "override_at": None,
}
NEVER = (
    "Nobody may override this, the owner neither: who digs without a valid ticket and every answer "
    "may hit a line, and the law asks for it. Call the one-call centre, or move the dig."
)


class BreachRefusal(Refusal):
    """Raised when a block would break rules of the calendar that it does not break now."""

    def __init__(self, breaches: Sequence[Violation]) -> None:
        self.may_be_overridden = not any(one.rule in NEVER_OVERRIDDEN for one in breaches)
        said = [*dict.fromkeys(one.sentence for one in breaches)]
        super().__init__(" ".join(said if self.may_be_overridden else [*said, NEVER]))


class NoteRefusal(Refusal):
    """Raised when an override is asked for without its reason; `bar` is what it would override."""

    def __init__(self, bar: BreachRefusal) -> None:
        self.bar = bar
        super().__init__("Say why it is placed against the rule.", field="override_note")


def refuse_breaches(breaches: Sequence[Violation]) -> None:
    """Refuse what breaks a rule, if anything.

    Raises:
        BreachRefusal: it says what is broken, and whether the owner may override it.
    """
    if breaches:
        raise BreachRefusal(breaches)


def keep_override(
    row: CrewDay,
    breaches: Sequence[Violation],
    *,
    note: str | None,
    actor: User | None,
    now: dt.datetime,
) -> CrewDay:
    """Write down who placed a block against which rules, and why; without any it stands as it is.

    Raises:
        BreachRefusal: nobody asked for an override, or it is one that nobody may give.
        Refusal: whoever asked is not the owner.
        NoteRefusal: the owner says not why.
    """
    if not breaches:
        return row
    refusal = BreachRefusal(breaches)
    if note is None or not refusal.may_be_overridden:
        raise refusal
    if actor is None or not actor.is_owner:
        raise Refusal(f"{refusal} Only the owner may override this.")
    if not note.strip():
        raise NoteRefusal(refusal)
    changes = {
        "override_note": note.strip(),
        "override_breaches": [
            {
                "rule": one.rule.value,
                "sentence": one.sentence,
                "key": one.blocks[0].key,
                "short_h": one.short_h,
            }
            for one in breaches
        ],
        "override_by": actor,
        "override_name": actor.get_full_name() or actor.username,
        "override_at": now,
    }
    return change_row(row, changes=changes, actor=actor, action="overrode a rule", at=now)
