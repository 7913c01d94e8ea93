"""A proposal names the job that makes its PDF."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("estimating", "0001_first_tables"),
        ("firm", "0001_first_tables"),
    ]

    operations = [
        migrations.AddField(
            model_name="proposal",
            name="send_job",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to="firm.job",
            ),
        ),
    ]
