"""The worker's tasks, and what carries out this app's jobs."""

from django.utils import timezone

from firm.celery import app
from firm.services import backup, jobs, mail

jobs.job_handler(mail.SEND_JOB)(mail.send_kept_mail)
jobs.job_handler(backup.BACKUP_JOB)(backup.carry_out_backup)


@app.task(name=jobs.RUN_TASK)
def run_job(job_id: int) -> None:
    jobs.run_job(job_id=job_id, now=timezone.now())


@app.task(name="firm.tasks.sweep_jobs")
def sweep_jobs() -> None:
    jobs.sweep(now=timezone.now())


@app.task(name="firm.tasks.back_up")
def back_up() -> None:
    backup.ask_for_backup(actor=None, now=timezone.now())
