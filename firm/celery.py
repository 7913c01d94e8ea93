"""The entry point of the background worker."""

import os

from celery import Celery
from kombu.transport import TRANSPORT_ALIASES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

# Its messages are whole: see there.
TRANSPORT_ALIASES["filesystem"] = "firm.folder_queue:Transport"

app = Celery("firm")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
