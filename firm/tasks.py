"""The worker's two tasks, and what carries out this app's jobs."""

from django.utils import timezone

from firm.celery import app
from firm.services import jobs, mail

jobs.job_handler(mail.SEND_JOB)(mail.send_kept_mail)


@app.task(name=jobs.RUN_TASK)
def run_job(job_id: int) -> None:
    jobs.run_job(job_id=job_id, now=timezone.now())


@app.task(name="firm.tasks.sweep_jobs")
def sweep_jobs() -> None:
    jobs.sweep(now=timezone.now())
