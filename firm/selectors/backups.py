"""Questions about backups: which there are, how old the newest is, whether one is being made."""

import datetime as dt
import re
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from firm.models import Job, JobState

NAME_PATTERN = re.compile(r"firm-footing-(\d{8}T\d{6}Z)\.tar\.gz")
NAME_TIME = "%Y%m%dT%H%M%SZ"
OLD_AFTER = dt.timedelta(days=2)


@dataclass(frozen=True, kw_only=True, slots=True)
class BackupFile:
    """A backup in the usual folder."""

    path: Path
    made_at: dt.datetime
    size_bytes: int


@dataclass(frozen=True, kw_only=True, slots=True)
class BackupStanding:
    """What the owner is told: the newest backup, and how the last attempt ended."""

    newest: BackupFile | None
    is_old: bool
    is_running: bool
    error: str
    folder: Path
    keep: int


def backup_files() -> list[BackupFile]:
    """Return the backups in the usual folder, newest first."""
    found = []
    for path in settings.FF_BACKUP_DIR.glob("firm-footing-*.tar.gz"):
        match = NAME_PATTERN.fullmatch(path.name)
        if match is None:
            continue
        made_at = dt.datetime.strptime(match[1], NAME_TIME).replace(tzinfo=dt.UTC)
        found.append(BackupFile(path=path, made_at=made_at, size_bytes=path.stat().st_size))
    return sorted(found, key=lambda backup: backup.made_at, reverse=True)


def backup_standing(*, kind: str, now: dt.datetime) -> BackupStanding:
    """Return how the firm's backups stand; `kind` names the background jobs that make them."""
    newest = next(iter(backup_files()), None)
    last = Job.objects.filter(kind=kind).first()
    is_over = last is None or last.is_over
    failed = last is not None and last.state == JobState.FAILED
    return BackupStanding(
        newest=newest,
        is_old=newest is not None and now - newest.made_at > OLD_AFTER,
        is_running=not is_over,
        error=last.error if last is not None and failed else "",
        folder=settings.FF_BACKUP_DIR,
        keep=settings.FF_BACKUP_KEEP,
    )
