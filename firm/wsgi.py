"""The entry point of the web server."""

import gc
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

application = get_wsgi_application()

# Loads the pages' code now, so that the first visitor does not wait for it.
get_resolver().url_patterns  # noqa: B018 - reading it is what loads it

# What is loaded stays: looking through it for rubbish took a tenth of a page's time, and
# touched memory that the processes of the server share as long as nobody touches it.
gc.collect()
gc.freeze()
