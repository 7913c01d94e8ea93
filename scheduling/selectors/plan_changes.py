"""What moved and why, in sentences, and which blocks fit no longer."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import F, QuerySet
from django.utils import timezone

from scheduling.engine.wording import dated_words, moment_words
from scheduling.models import CrewDay, JobPhase, PlanChange
from scheduling.selectors.cure_spans import plan_around
from scheduling.selectors.planning import violations_from
from scheduling.selectors.rain_outs import days_in_words

ONE_DAY = dt.timedelta(days=1)
SEEN_SHOWN = 20
BEHIND: dict[str, str] = {
    PlanChange.Cause.AIR: "the air was written down anew",
    PlanChange.Cause.RAIN_OUT: "its new day has air of its own",
    PlanChange.Cause.PREPARE: "the mix or the cover against frost was changed",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class ChangeRow:
    """A change of one job: since when, what moved, and why; a brief leaves the reckoning out."""

    change: PlanChange
    since: str
    sentences: Sequence[str]
    briefs: Sequence[str]


@dataclass(frozen=True, kw_only=True, slots=True)
class Misfit:
    """What the plan breaks now by a block that could move; None where none is to come."""

    sentences: Sequence[str]
    row: CrewDay | None


@dataclass(frozen=True, kw_only=True, slots=True)
class ChangesView:
    """Everything the page of changes shows; `as_of` is when it was drawn.

    `done` are days ahead of work that is finished.
    """

    unseen: Sequence[ChangeRow]
    seen: Sequence[ChangeRow]
    misfits: Sequence[Misfit]
    done: Sequence[CrewDay]
    as_of: dt.datetime


def unseen_count() -> int:
    """Return how many jobs have changes that nobody has seen, however many each has."""
    return PlanChange.objects.filter(seen_at__isnull=True).values("job").distinct().count()


def unseen_changes(*, now: dt.datetime) -> list[ChangeRow]:
    """Return what moved and was not seen yet, the newest first."""
    return _rows(_changes().filter(seen_at__isnull=True), now)


def changes_view(*, now: dt.datetime) -> ChangesView:
    """Return what moved, seen lately as well, and what fits no longer."""
    seen = _changes().filter(seen_at__isnull=False).order_by("-seen_at", "-pk")[:SEEN_SHOWN]
    return ChangesView(
        unseen=unseen_changes(now=now),
        seen=_rows(seen, now),
        misfits=_misfits(now),
        done=_done_already(timezone.localdate(now)),
        as_of=now,
    )


def _changes() -> QuerySet[PlanChange]:
    return PlanChange.objects.select_related("job__customer", "seen_by")


def _done_already(today: dt.date) -> list[CrewDay]:
    return list(
        CrewDay.objects.filter(date__gte=today, phase__finished_on__lt=F("date"))
        .select_related("job__customer", "phase", "crew")
        .order_by("date", "crew__name", "position", "pk")
    )


def _misfits(now: dt.datetime) -> list[Misfit]:
    today = timezone.localdate(now)
    plan = plan_around(today, today, now=now)
    found = violations_from(plan, today)
    by_block: dict[int | None, list[str]] = {}
    for one in found:
        ahead = next((int(each.key) for each in one.blocks if each.date >= today), None)
        by_block.setdefault(ahead, []).append(one.sentence)
    rows = CrewDay.objects.select_related("job__customer", "phase", "crew")
    known = rows.in_bulk([pk for pk in by_block if pk is not None])
    return [
        Misfit(sentences=list(dict.fromkeys(said)), row=None if pk is None else known.get(pk))
        for pk, said in by_block.items()
    ]


def _rows(changes: Iterable[PlanChange], now: dt.datetime) -> list[ChangeRow]:
    found = list(changes)
    named = {move["block"] for one in found for move in one.moves if "block" in move}
    days = dict(CrewDay.objects.filter(pk__in=named).values_list("pk", "date")) if named else {}
    return [
        ChangeRow(
            change=one,
            since=_since(one.made_at, now),
            sentences=[" ".join(_said(move, one, days)) for move in one.moves],
            briefs=[_said(move, one, days)[0] for move in one.moves],
        )
        for one in found
    ]


def _since(moment: dt.datetime, now: dt.datetime) -> str:
    at, today = timezone.localtime(moment), timezone.localdate(now)
    day = {today: "today", today - ONE_DAY: "yesterday"}.get(at.date())
    return f"{day or f'{at:%a %b} {at.day}'} {at:%H:%M}"


def _said(move: dict[str, Any], change: PlanChange, days: Mapping[int, dt.date]) -> tuple[str, ...]:
    """Return what moved and why, then how it was reckoned, where it was."""
    if "block" in move:
        return (_block_words(move, change, days.get(move["block"])),)
    if "phase" in move:
        name = JobPhase.Kind(move["phase"]).label
        told = _days_words(move, is_many=_is_many(move))
        return (f"{name} of {change.job} {told}: {change.why}.",)
    before, after = _moment(move["before"]), _moment(move["after"])
    name = f"{move['work'].capitalize()} of {change.job}"
    if after is None:
        return f"{name} may not hang for now.", move["sentence"]
    # A change may be read weeks later, so a weekday alone would name another week's.
    words = f"{name} may hang {dated_words(after)}"
    if before is not None:
        same = before.date() == after.date()
        was = f"{before:%H:%M}" if same else dated_words(before)
        words = f"{words} instead of {was}"
    why, *reckoned = _why(move, change)
    return f"{words}: {why}", *reckoned


def _block_words(move: dict[str, Any], change: PlanChange, stands_on: dt.date | None) -> str:
    """Return why a block stands no longer, or that it stands again, and whether it moved since."""
    day = dt.date.fromisoformat(move["day"])
    on = days_in_words([day])
    name = f"{JobPhase.Kind(move['phase']).label} of {change.job} on {on}"
    if move["after"] is None:
        if _is_many(move):
            return f"{name} stand again, as far as this barred them."
        return f"{name} stands again, as far as this barred it."
    has, stands = ("They have", "stand") if _is_many(move) else ("It has", "stands")
    since = "" if stands_on == day else f" {has} left that day since."
    why = move["after"]
    # Most rules name job and day themselves.
    is_named = str(change.job) in why and on in why
    return (
        f"Stands no longer: {why}{since}"
        if is_named
        else f"{name} {stands} no longer: {why}{since}"
    )


def _why(move: dict[str, Any], change: PlanChange) -> tuple[str, ...]:
    """Return what is behind a wait that moved: another hour of the pour, else the rule's words."""
    before, after = _moment(move["pour_before"]), _moment(move["pour_after"])
    if after is not None and before != after:
        is_pour = move["is_poured"] or change.cause == PlanChange.Cause.POUR
        poured = "the pour was" if is_pour else "the posts are to be set by"
        was = f", not {moment_words(before)}" if before else ""
        return (f"{poured} {moment_words(after)}{was}.",)
    said = BEHIND.get(change.cause, "the day was reported")
    return f"{said}.", move["sentence"]


def _is_many(move: dict[str, Any]) -> bool:
    """Say whether a phase's name is said of several: gates are on a day, digging is."""
    return bool(move["phase"] == JobPhase.Kind.GATES)


def _days_words(move: dict[str, Any], *, is_many: bool) -> str:
    now, was = ("are", "were") if is_many else ("is", "was")
    before, after = ([dt.date.fromisoformat(day) for day in move[at]] for at in ("before", "after"))
    if not after:
        them = "they" if is_many else "it"
        return f"{now} off the calendar; {them} {was} on {days_in_words(before)}"
    words = f"{now} on {days_in_words(after)}"
    return f"{words} instead of {days_in_words(before)}" if before else words


def _moment(written: str | None) -> dt.datetime | None:
    return timezone.localtime(dt.datetime.fromisoformat(written)) if written else None
