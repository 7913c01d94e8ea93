"""The app that knows the firm, its people, customers and job sites."""

from django.apps import AppConfig
from django.utils.module_loading import autodiscover_modules


class FirmConfig(AppConfig):
    name = "firm"
    verbose_name = "Firm"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        # `checks` and every app's `tasks` register themselves on import.
        autodiscover_modules("checks", "tasks")
