"""Setting the firm up, and changing its profile."""

import datetime as dt
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, ExitStack
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from firm.errors import Refusal
from firm.models import FirmProfile, Role, User
from firm.services.audit import differences, record, snapshot
from firm.services.users import PersonDetails, add_person

SetUpStep = Callable[[dt.date], object]
# What stands round a change: it gets the profile as it was, the changes, who makes them and when.
ProfileWatch = Callable[
    [FirmProfile, Mapping[str, Any], User, dt.datetime], AbstractContextManager[None]
]
_set_up_steps: list[SetUpStep] = []
_profile_watches: list[ProfileWatch] = []
NUMBER_FIELDS = ("next_estimate_number", "next_invoice_number", "next_order_number")


def on_set_up(step: SetUpStep) -> None:
    """Register, in an app's `tasks` module, what is done in the same transaction as the set-up."""
    if step not in _set_up_steps:
        _set_up_steps.append(step)


def around_profile_changes(watch: ProfileWatch) -> None:
    """Register, in an app's `tasks` module, what looks before and after the profile changes."""
    if watch not in _profile_watches:
        _profile_watches.append(watch)


@transaction.atomic
def set_up_firm(
    *, values: Mapping[str, Any], owner: PersonDetails, password: str, at: dt.datetime
) -> User:
    """Write the firm's profile and its first owner together.

    Raises:
        Refusal: the firm has an owner already, or another first run was quicker.
    """
    if User.objects.filter(role=Role.OWNER).exists():
        raise Refusal("This firm is set up already: log in instead.")
    profile = FirmProfile(**{**values, "id": 1, "set_up_at": at})
    exists = FirmProfile.objects.select_for_update().filter(pk=1).exists()
    try:
        with transaction.atomic():
            profile.save(force_insert=not exists)
    except IntegrityError as error:
        raise Refusal("Someone else has just set this firm up: log in instead.") from error
    person = add_person(actor=None, details=owner, password=password, at=at)
    for step in _set_up_steps:
        step(timezone.localdate(at))
    record(actor=person, action="set the firm up", target=profile, after=snapshot(profile), at=at)
    return person


@transaction.atomic
def save_profile(*, actor: User, changes: Mapping[str, Any], at: dt.datetime) -> FirmProfile:
    """Write the changed fields of the firm's profile.

    Raises:
        Refusal: a next number would go back to numbers that may have been given out.
    """
    profile = FirmProfile.objects.select_for_update().filter(pk=1).first() or FirmProfile(
        set_up_at=at
    )
    for name in NUMBER_FIELDS:
        next_number = getattr(profile, name)
        if profile.name and changes.get(name, next_number) < next_number:
            raise Refusal(
                f"Numbers only go up: {next_number} is the next one, so that none is used twice.",
                field=name,
            )
    before = snapshot(profile)
    with ExitStack() as watches:
        for watch in _profile_watches:
            watches.enter_context(watch(profile, changes, actor, at))
        for name, value in changes.items():
            setattr(profile, name, value)
        profile.save()
    old, new = differences(before, snapshot(profile))
    if new:
        record(
            actor=actor,
            action="changed the settings",
            target=profile,
            before=old,
            after=new,
            at=at,
        )
    return profile
