"""The worker's two tasks."""

from django.utils import timezone

from firm.celery import app
from firm.services import jobs


@app.task(name=jobs.RUN_TASK)
def run_job(job_id: int) -> None:
    jobs.run_job(job_id=job_id, now=timezone.now())


@app.task(name="firm.tasks.sweep_jobs")
def sweep_jobs() -> None:
    jobs.sweep(now=timezone.now())
