"""Loads the demo firm into an empty database and prints its log-ins."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from estimating.services.demo import load_demo
from firm.models import FirmProfile, User


class Command(BaseCommand):
    """Does nothing where a firm is set up already."""

    help = "Load an invented demo firm into an empty database and print its log-ins."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the log-ins; the passwords are new ones at each loading."""
        if FirmProfile.objects.exists() or User.objects.exists():
            self.stdout.write("A firm is set up here already; the demo was not loaded.")
            return
        log_ins = load_demo(now=timezone.now())
        self.stdout.write("Demo log-ins (role, log-in name, password):")
        for log_in in log_ins:
            self.stdout.write(f"  {log_in.role:<10}  {log_in.username:<7}  {log_in.password}")
