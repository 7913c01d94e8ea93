"""Mails kept so far are known by the order they bring, no more by their subject."""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps


def name_what_mails_bring(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Until now a mail brought what its subject began with, as the mails were worded then."""
    mails = apps.get_model("firm", "OutgoingMail").objects.filter(kind="other")
    orders = apps.get_model("scheduling", "PurchaseOrder").objects.exclude(sent_to="")
    for row in orders.exclude(number=None):
        subject = f"Purchase order {row.number} from "
        mails.filter(subject__startswith=subject).update(kind="order", about=row.pk)


class Migration(migrations.Migration):
    dependencies = [
        ("scheduling", "0024_what_a_job_s_preparation_moves"),
        ("firm", "0016_what_a_mail_brings"),
    ]

    operations = [
        migrations.RunPython(name_what_mails_bring, migrations.RunPython.noop),
    ]
