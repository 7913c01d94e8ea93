"""One of many writers: counts up in transactions that read first and write then."""

import sys

import django
from django.db import transaction
from django.utils import timezone

django.setup()

# Only now do the models know their tables.
from firm.models import Job  # noqa: E402

transactions = int(sys.argv[1])
for _ in range(transactions):
    with transaction.atomic():
        job = Job.objects.get(kind="tests.counter")
        job.arguments["count"] += 1
        job.due_at = timezone.now()
        job.save()
