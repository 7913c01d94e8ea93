"""The entry point of the background worker."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

app = Celery("firm")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
