"""The entry point of the web server."""

import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

application = get_wsgi_application()

# Loads the pages' code now, so that the first visitor does not wait for it.
get_resolver().url_patterns  # noqa: B018 - reading it is what loads it
