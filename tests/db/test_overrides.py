"""Blocks placed against a rule: by the owner alone, with a note, and never without a ticket.

NOW is Monday, 4 May 2026. Waits: 32 h to panels at 72 F (trade.md section 8, standards.md 5).
"""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from firm.errors import Refusal
from firm.models import AuditEntry, Clearance, Role, User
from firm.selectors.languages import speaking, spoken
from scheduling.engine.crew_days import find_violations
from scheduling.models import Crew, CrewDay, CrewDaysOff, FenceJob
from scheduling.selectors.day_sheet import day_sheet_of
from scheduling.selectors.planning import job_waits, standing_plan, violations_from
from scheduling.services.overrides import BreachRefusal
from scheduling.services.placing import place_job
from scheduling.services.planning import move_block
from scheduling.services.rain_outs import RainOutAsked, look_at_rain_out
from tests.cast import make_person
from tests.crew_cast import days_of, make_full_job, make_red_crew, may, put_on
from tests.factories import NOW, make_firm

pytestmark = pytest.mark.django_db
MONDAY = may(4)


@pytest.fixture
def crew(db: None) -> Crew:
    return make_red_crew()


@pytest.fixture
def owner(db: None) -> User:
    return make_person(Role.OWNER, first_name="Marta", last_name="Quill")


@pytest.fixture
def job(crew: Crew) -> FenceJob:
    """Return a job laid out and dug; set on Tuesday until 11:00 at 72 F, hung on Friday."""
    job = make_full_job(1, on=MONDAY)
    job.phases.filter(kind__in=["layout", "dig", "gates", "clean_up"]).update(
        finished_on=dt.date(2026, 5, 1)
    )
    put_on(job, "set", crew, may(5), air_f=72.0)
    put_on(job, "hang", crew, may(8))
    return job


def move(block: CrewDay, actor: User | None, note: str | None, **changes: Any) -> CrewDay:
    values: dict[str, Any] = {
        "crew": block.crew,
        "date": block.date,
        "hours": block.hours,
        "start": block.start,
        "air_f": block.air_f,
    }
    values |= changes
    return move_block(block=block, **values, actor=actor, now=NOW, override_note=note)


def hang_of(job: FenceJob) -> CrewDay:
    return CrewDay.objects.get(job=job, phase__kind="hang")


def too_early(job: FenceJob, owner: User) -> CrewDay:
    """Hang at 7:00 on Wednesday, 20 h after the pour; 32 h are asked for."""
    return move(hang_of(job), owner, "Posts are braced, light panels.", date=may(6))


def told(job: FenceJob) -> list[str]:
    plan = standing_plan(today=MONDAY, also=[job.pk])
    return [one.sentence for one in violations_from(plan, MONDAY)]


def test_owner_places_a_block_against_a_rule_and_all_of_it_is_kept(
    job: FenceJob, owner: User
) -> None:
    block = too_early(job, owner)
    assert (block.date, block.is_pinned) == (may(6), True)
    assert (block.override_by, block.override_name) == (owner, "Marta Quill")
    assert (block.override_note, block.override_at) == ("Posts are braced, light panels.", NOW)
    assert len(block.override_breaches) == 1
    assert "hanging on Wed May 6 07:00 comes too early" in block.override_sentences[0]
    entry = AuditEntry.objects.get(action="overrode a rule")
    assert (entry.actor, entry.after["override_note"]) == (owner, block.override_note)


def test_what_was_overridden_is_not_told_as_new_but_what_changes_is(
    job: FenceJob, owner: User, crew: Crew
) -> None:
    too_early(job, owner)
    assert told(job) == []
    assert job_waits(job, NOW).violations == ()
    # The air turns out colder: 60 F waits 48 h, which nobody has overridden.
    CrewDay.objects.filter(phase__kind="set").update(air_f=60.0)
    (sentence,) = told(job)
    assert "hanging on Wed May 6 07:00 comes too early" in sentence
    # Warmer than reckoned it is less too early than was overridden: 24 h by table and label.
    CrewDay.objects.filter(phase__kind="set").update(air_f=90.0)
    assert told(job) == []
    CrewDaysOff.objects.create(crew=crew, first_day=may(6), last_day=may(6))
    assert told(job) == ["Red crew does not work on Wed May 6, 2026."]


def test_placing_lets_it_stand_and_builds_on_it(job: FenceJob, owner: User) -> None:
    too_early(job, owner)
    job.phases.filter(kind="clean_up").update(finished_on=None)
    place_job(job=job, actor=owner, now=NOW)
    # Its posts are placed anew and end sooner: less too early than was overridden.
    assert days_of(job)[1] == "6 hang 4.00"
    assert told(job) == []


def test_rain_out_moves_it_never(job: FenceJob, owner: User) -> None:
    too_early(job, owner)
    values: dict[str, Any] = {"crew": None, "work": "all", "others": "stay", "rain_in": None}
    asked = RainOutAsked(date=may(6), with_fixed=True, **values)
    with pytest.raises(Refusal, match="was placed against a rule by the owner"):
        look_at_rain_out(asked=asked, now=NOW)


def test_moved_again_it_counts_no_longer(job: FenceJob, owner: User) -> None:
    block = move(too_early(job, owner), owner, None, date=may(8))
    assert (block.override_note, block.override_breaches, block.override_at) == ("", [], None)
    with pytest.raises(BreachRefusal):
        move(block, owner, None, date=may(6))


def test_saved_as_it_stands_without_a_note_it_is_refused_and_keeps_its_note(
    job: FenceJob, owner: User
) -> None:
    block = too_early(job, owner)
    with pytest.raises(BreachRefusal, match="comes too early"):
        move(block, owner, None)
    assert hang_of(job).override_note == "Posts are braced, light panels."


def test_with_nothing_to_override_nothing_is_kept(job: FenceJob, owner: User) -> None:
    assert move(hang_of(job), owner, "Just in case", date=may(11)).override_note == ""


@pytest.mark.parametrize("role", [Role.OFFICE, None])
def test_nobody_but_the_owner_may(job: FenceJob, role: Role | None) -> None:
    person = make_person(role) if role else None
    with pytest.raises(Refusal, match="Only the owner may override this"):
        move(hang_of(job), person, "Please", date=may(6))
    assert hang_of(job).date == may(8)


def test_note_is_asked_for(job: FenceJob, owner: User) -> None:
    with pytest.raises(Refusal, match="Say why") as refused:
        move(hang_of(job), owner, "  ", date=may(6))
    assert refused.value.field == "override_note"
    assert hang_of(job).date == may(8)


def test_nobody_overrides_a_dig_without_its_ticket(crew: Crew, owner: User) -> None:
    job = make_full_job(1, on=MONDAY)
    job.phases.exclude(kind="dig").update(finished_on=dt.date(2026, 5, 1))
    block = put_on(job, "dig", crew, may(5))
    Clearance.objects.filter(site=job.site, kind="locate").update(expires_on=may(6))
    with pytest.raises(BreachRefusal, match="Nobody may override this, the owner neither"):
        move(block, owner, "The ground is soft", date=may(7))
    # Together with one that may be overridden it may not either: 9 h are more than the day has.
    with pytest.raises(BreachRefusal) as refused:
        move(block, owner, "The ground is soft", date=may(7), hours=Decimal(9))
    assert not refused.value.may_be_overridden
    block.refresh_from_db()
    assert block.date == may(5)


def test_ticket_is_told_of_whatever_a_row_says(crew: Crew, owner: User) -> None:
    job = make_full_job(1, on=MONDAY)
    job.phases.exclude(kind="dig").update(finished_on=dt.date(2026, 5, 1))
    put_on(job, "dig", crew, may(5))
    Clearance.objects.filter(site=job.site, kind="locate").update(state="asked")
    sentences = told(job)
    breaches = [{"rule": "ticket", "sentence": sentence} for sentence in sentences]
    CrewDay.objects.update(
        is_pinned=True, override_note="x", override_at=NOW, override_breaches=breaches
    )
    plan = standing_plan(today=MONDAY)
    assert [one.sentence for one in find_violations(plan.blocks, plan.facts)] == sentences != []


def test_crew_reads_it_on_its_sheet(job: FenceJob, owner: User, crew: Crew) -> None:
    make_firm()
    too_early(job, owner)
    sheet = day_sheet_of(owner, crew=crew.pk, date=may(6), job=job.pk, now=NOW)
    assert sheet is not None
    assert sheet.cautions[0].startswith(
        "Hanging is placed against a rule by Marta Quill: Posts are braced, light panels. "
        "What it breaks: Job 1: hanging on Wed May 6 07:00 comes too early."
    )


def test_crew_reads_in_spanish_which_rule_it_breaks(job: FenceJob, owner: User, crew: Crew) -> None:
    make_firm()
    too_early(job, owner)
    sheet = day_sheet_of(owner, crew=crew.pk, date=may(6), job=job.pk, now=NOW, language="es")
    assert sheet is not None
    with speaking("es"):
        said = spoken(sheet.cautions[0])
    assert "Lo que rompe: concreto que aún no está duro" in said
    assert "comes too early" not in said


def test_database_refuses_an_override_without_a_note_or_not_fixed(job: FenceJob) -> None:
    rows = CrewDay.objects.filter(job=job)
    for values in (
        {"override_at": NOW, "is_pinned": True},
        {"override_at": NOW, "override_note": "x", "is_pinned": False},
        {"override_note": "x", "is_pinned": True},
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.update(**values)
