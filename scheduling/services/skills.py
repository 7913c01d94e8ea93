"""Writing down what people can do, and what phases ask of a crew."""

import datetime as dt
from collections.abc import Collection, Mapping

from django.db import IntegrityError, transaction

from firm.errors import Refusal
from firm.models import User
from firm.services.audit import record, snapshot
from firm.services.saving import add_row, change_row, locked
from scheduling.models import CrewMember, PeopleAsked, Skill, SkillAsked

SKILL_TAKEN = "There is a skill of this name already."
ASKED_TWICE = "This phase asks for it already."


def add_skill(*, actor: User | None, name: str, at: dt.datetime) -> Skill:
    """Add a skill to the firm's list.

    Raises:
        Refusal: the firm has one of this name, in whatever letters.
    """
    try:
        return add_row(Skill(name=name), actor=actor, action="added a skill", at=at)
    except IntegrityError as error:
        raise Refusal(SKILL_TAKEN, field="name") from error


@transaction.atomic
def drop_skill(*, actor: User | None, skill: Skill, at: dt.datetime) -> None:
    """Take a skill off the list, from whoever has it.

    Raises:
        Refusal: a phase asks for it.
    """
    kept = locked(skill)
    if kept.asked_by.exists():
        raise Refusal(f"Phases still ask for {kept}: take that away first.")
    record(actor=actor, action="dropped a skill", target=kept, before=snapshot(kept), at=at)
    kept.delete()


@transaction.atomic
def set_skills(
    *, actor: User | None, member: CrewMember, skills: Collection[Skill], at: dt.datetime
) -> None:
    """Write down what a person can do: these skills and no others."""
    before, after = sorted(map(str, member.skills.all())), sorted(map(str, skills))
    if before != after:
        member.skills.set(skills)
        record(
            actor=actor,
            action="changed a person's skills",
            target=member,
            before={"skills": before},
            after={"skills": after},
            at=at,
        )


def ask_for_skill(
    *, actor: User | None, skill: Skill, phase: str, family: str, at: dt.datetime
) -> SkillAsked:
    """Have a phase ask for a skill, on all fences or on those of one family.

    Raises:
        Refusal: it asks for it already.
    """
    row = SkillAsked(skill=skill, phase=phase, family=family)
    try:
        return add_row(row, actor=actor, action="asked for a skill", at=at)
    except IntegrityError as error:
        raise Refusal(ASKED_TWICE, field="skill") from error


@transaction.atomic
def stop_asking(*, actor: User | None, asked: SkillAsked, at: dt.datetime) -> None:
    """Let a phase ask for a skill no more."""
    row = locked(asked)
    record(actor=actor, action="asks for a skill no more", target=row, before=snapshot(row), at=at)
    row.delete()


@transaction.atomic
def ask_for_people(
    *, actor: User | None, people: Mapping[str, int | None], at: dt.datetime
) -> None:
    """Write down how many people each of these phases asks for; None or 1 for any number."""
    rows = {row.phase: row for row in PeopleAsked.objects.select_for_update()}
    for phase, count in people.items():
        row, wanted = rows.get(phase), count if count and count > 1 else None
        if row is None and wanted:
            added = PeopleAsked(phase=phase, people=wanted)
            add_row(added, actor=actor, action="asked for people", at=at)
        elif row is not None and wanted:
            changes = {"people": wanted}
            change_row(row, changes=changes, actor=actor, action="asked for people", at=at)
        elif row is not None:
            action = "asks for any number of people"
            record(actor=actor, action=action, target=row, before=snapshot(row), at=at)
            row.delete()
