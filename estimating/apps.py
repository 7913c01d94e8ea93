"""The app that leads from a measured site to an accepted price."""

from django.apps import AppConfig


class EstimatingConfig(AppConfig):
    name = "estimating"
    verbose_name = "Estimating"
    default_auto_field = "django.db.models.BigAutoField"
