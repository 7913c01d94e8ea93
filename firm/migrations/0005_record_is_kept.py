"""The database refuses to change the record."""

from django.db import migrations

from firm.append_only import keep_rows


class Migration(migrations.Migration):
    dependencies = [("firm", "0004_failed_log_ins")]

    operations = [keep_rows("firm_auditentry", person="actor_id")]
