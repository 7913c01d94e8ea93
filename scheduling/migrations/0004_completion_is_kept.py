"""The database refuses to change what a customer signed when the job was done."""

from django.db import migrations

from firm.append_only import keep_rows


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0003_crews_and_crew_days")]

    operations = [keep_rows("scheduling_completion", person="taken_by_id")]
