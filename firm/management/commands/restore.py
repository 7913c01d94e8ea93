"""Goes back to a backup."""

import argparse
import datetime as dt
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError, call_command
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from firm import checks
from firm.errors import Refusal
from firm.services.restore import finish_interrupted_restores, restore_backup


class Command(BaseCommand):
    help = "Brings back every table and every file of a backup. Stop the app before."
    requires_system_checks = (checks.START,)

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument(
            "file", type=Path, nargs="?", help="the .tar.gz that manage.py backup made"
        )
        parser.add_argument("--yes", action="store_true", help="replace what is here")
        parser.add_argument(
            "--finish", action="store_true", help="only put right what a killed restore left"
        )

    def handle(
        self, *args: Any, file: Path | None, yes: bool, finish: bool, **options: Any
    ) -> None:
        if finish:
            finish_interrupted_restores()
            return
        if file is None:
            raise CommandError("Name the file to go back to.")
        if not MigrationRecorder(connection).applied_migrations():
            call_command("migrate", interactive=False, verbosity=0)
        self._restore(file, yes=yes)

    def _restore(self, file: Path, *, yes: bool) -> None:
        try:
            restored = restore_backup(archive=file, replace=yes, now=timezone.now())
        except Refusal as refusal:
            hint = "" if yes else " Where something is here, --yes replaces it."
            raise CommandError(f"{file}: {refusal} Nothing was changed.{hint}") from refusal
        manifest = restored.manifest
        made_at = timezone.localtime(dt.datetime.fromisoformat(manifest.made_at))
        rows = sum(table.rows for table in manifest.tables)
        files = len(manifest.members) - len(manifest.tables)
        self.stdout.write(
            f"Restored the backup of {made_at:%Y-%m-%d %H:%M}: {rows} rows of "
            f"{len(manifest.tables)} tables and {files} files. Everyone logs in again."
        )
        if restored.kept_as:
            self.stdout.write(f"What was here before is kept in {restored.kept_as}.")
        for name in manifest.missing_files:
            self.stderr.write(f"A row speaks of {name}; the backup was made without that file.")
