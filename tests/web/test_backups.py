"""Asking for a backup from the settings, and what the settings say of the last one."""

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries, Settings

from firm.models import AuditEntry, Job, JobState, Role, User
from firm.services import jobs
from firm.services.backup import BACKUP_JOB
from tests.cast import NOW, make_firm

pytestmark = pytest.mark.django_db
ADDRESS = "/settings/backup/"


@pytest.fixture(autouse=True)
def _backups_wait_in_a_folder(settings: Settings, tmp_path: Path) -> None:
    settings.FF_BACKUP_DIR = tmp_path / "backups"
    settings.FF_JOBS_INLINE = False


@pytest.mark.parametrize(
    ("role", "status"), [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 403), (Role.OWNER, 302)]
)
def test_only_the_owner_asks_for_a_backup(
    as_role: Callable[[Role | None], Client], role: Role | None, status: int
) -> None:
    answer = as_role(role).post(ADDRESS)
    assert answer.status_code == status
    assert Job.objects.filter(kind=BACKUP_JOB).exists() == (role == Role.OWNER)


def test_a_look_asks_for_none(as_owner: Client) -> None:
    assert as_owner.get(ADDRESS).status_code == 405
    assert not Job.objects.exists()


def test_asking_twice_makes_one_and_is_recorded_once(as_owner: Client, owner: User) -> None:
    make_firm()
    first = as_owner.post(ADDRESS, follow=True).content.decode()
    assert "The backup is being made." in first
    second = as_owner.post(ADDRESS, follow=True).content.decode()
    assert "A backup is being made already." in second
    job = Job.objects.get(kind=BACKUP_JOB)
    entry = AuditEntry.objects.get(action="asked for a backup")
    assert (entry.actor, entry.target_id) == (owner, str(job.pk))


def test_asking_takes_few_queries(
    as_owner: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    # Session, person; one on its way?; a savepoint around the job and one around its row, each
    # begun and released; the row, and the record of who asked.
    with django_assert_num_queries(9):
        as_owner.post(ADDRESS)


def test_settings_say_that_there_is_none_then_how_old_the_last_is(
    as_owner: Client, settings: Settings
) -> None:
    make_firm()
    assert "There is no backup yet." in as_owner.get("/settings/").content.decode()
    settings.FF_BACKUP_DIR.mkdir()
    (settings.FF_BACKUP_DIR / "firm-footing-20200101T032000Z.tar.gz").write_bytes(b"x" * 2048)
    page = as_owner.get("/settings/").content.decode()
    assert "The last backup is more than two days old." in page
    assert "December 31, 2019" in page or "January 1, 2020" in page


def test_settings_say_why_the_last_attempt_failed(as_owner: Client) -> None:
    make_firm()
    job = jobs.enqueue(kind=BACKUP_JOB, arguments={}, now=NOW)
    Job.objects.filter(pk=job.pk).update(
        state=JobState.FAILED, error="No room <left>.", finished_at=NOW + dt.timedelta(minutes=1)
    )
    page = as_owner.get("/settings/").content.decode()
    assert "The last attempt failed: No room &lt;left&gt;." in page
