from django.db import migrations
from django.utils import timezone


def ask_for_jobs(apps, _schema_editor):
    """Queue the making of a job for every acceptance given before there were jobs."""
    background_job = apps.get_model("firm", "Job")
    now = timezone.now()
    for proposal_id in apps.get_model("estimating", "Acceptance").objects.values_list(
        "proposal", flat=True
    ):
        background_job.objects.get_or_create(
            dedup_key=f"job.make:{proposal_id}",
            defaults={
                "kind": "job.make",
                "arguments": {"proposal_id": proposal_id},
                "created_at": now,
                "due_at": now,
            },
        )


class Migration(migrations.Migration):
    dependencies = [
        ("scheduling", "0001_jobs_and_their_phases"),
        ("estimating", "0002_proposal_send_job"),
        ("firm", "0003_hole_floor_of_24_in"),
    ]

    operations = [migrations.RunPython(ask_for_jobs, migrations.RunPython.noop)]
