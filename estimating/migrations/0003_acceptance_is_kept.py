"""The database refuses to change an acceptance."""

from django.db import migrations

from firm.append_only import keep_rows


class Migration(migrations.Migration):
    dependencies = [("estimating", "0002_proposal_send_job")]

    operations = [keep_rows("estimating_acceptance", person="recorded_by_id")]
