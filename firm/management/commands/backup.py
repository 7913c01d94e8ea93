"""Makes a backup of everything in one file."""

import argparse
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError
from django.template.defaultfilters import filesizeformat
from django.utils import timezone

from firm import checks
from firm.errors import Refusal
from firm.services.backup import make_backup, place_of


class Command(BaseCommand):
    help = "Writes every table and every file into one .tar.gz, while the app may go on running."
    requires_system_checks = (checks.START,)

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("--to", type=Path, help="folder or file; else the folder of backups")

    def handle(self, *args: Any, to: Path | None, **options: Any) -> None:
        now = timezone.now()
        try:
            made = make_backup(target=place_of(to, now=now), now=now)
        except Refusal as refusal:
            raise CommandError(str(refusal)) from refusal
        except OSError as error:
            raise CommandError(f"The backup could not be written: {error}") from error
        self.stdout.write(
            f"{made.path}: {made.rows} rows of {made.tables} tables and {made.files} files, "
            f"{filesizeformat(made.size_bytes)}.".replace("\xa0", " ")
        )
        for name in made.missing_files:
            self.stderr.write(f"A row speaks of {name}, but there is no such file.")
