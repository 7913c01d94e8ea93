"""`manage.py make_words`: make the `.mo` file of every translation under locale/."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from firm.word_files import mo_bytes, read_po


class Command(BaseCommand):
    help = "Makes of each locale/*/LC_MESSAGES/django.po the file that pages read."

    def handle(self, *args: Any, **options: Any) -> None:
        """Write one file for each language, and say how many phrases it holds."""
        for folder in settings.LOCALE_PATHS:
            for source in sorted(Path(folder).glob("*/LC_MESSAGES/django.po")):
                words = read_po(source)
                source.with_suffix(".mo").write_bytes(mo_bytes(words))
                self.stdout.write(f"{source}: {len(words) - 1} phrases")
