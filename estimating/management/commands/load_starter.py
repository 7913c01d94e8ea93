"""Fills an empty catalog with the starter's fence systems, prices and rates."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from estimating.services.starter import load_starter_rows


class Command(BaseCommand):
    """Add what is missing; rows that are there stay as the firm left them."""

    help = "Fill an empty catalog with the starter's fence systems, prices and rates."

    def handle(self, *args: Any, **options: Any) -> None:
        """Say how many rows were added."""
        added = load_starter_rows(today=timezone.localdate())
        if added:
            self.stdout.write(f"Starter data: {added} rows added.")
