"""The app that turns sold work into jobs and brings them to the crews."""

from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    name = "scheduling"
    verbose_name = "Scheduling"
    default_auto_field = "django.db.models.BigAutoField"
