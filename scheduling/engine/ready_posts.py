"""From when what hangs between posts may hang, where the posts were set in several pours."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Hung:
    """A bay, a gate or a stretch of fabric: what it is called, and the posts that carry it."""

    name: str
    posts: tuple[int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadyGroup:
    """What may hang from one moment on; `ready_at` is None where no hour is known."""

    ready_at: dt.datetime | None
    names: tuple[str, ...]


def ready_groups(
    hung: Iterable[Hung], ready: Mapping[int, dt.datetime | None]
) -> tuple[ReadyGroup, ...]:
    """Return what hangs by the moment the last of its posts is ready, the soonest first.

    `ready` says it of each post; a post that is missing there is not ready, and what hangs on it
    comes last.
    """
    groups: dict[dt.datetime | None, list[str]] = {}
    for one in hung:
        groups.setdefault(_last(one.posts, ready), []).append(one.name)
    known = sorted(at for at in groups if at is not None)
    order = [*known, *([None] if None in groups else [])]
    return tuple(ReadyGroup(ready_at=at, names=tuple(groups[at])) for at in order)


def _last(posts: Iterable[int], ready: Mapping[int, dt.datetime | None]) -> dt.datetime | None:
    moments = [ready.get(post) for post in posts]
    known = [at for at in moments if at is not None]
    return max(known) if known and len(known) == len(moments) else None
