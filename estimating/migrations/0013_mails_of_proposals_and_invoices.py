"""Mails kept so far are known by the proposal or invoice they bring, no more by their subject."""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps


def name_what_mails_bring(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Until now a mail brought what its subject began with, as the mails were worded then."""
    mails = apps.get_model("firm", "OutgoingMail").objects.filter(kind="other")
    proposals = apps.get_model("estimating", "Proposal").objects.exclude(sent_to="")
    proposals = proposals.exclude(sent_at=None).select_related("estimate")
    # Of two proposals of one estimate the later one got what was mailed last.
    for row in proposals.order_by("-sent_at", "-pk"):
        one = row.estimate
        label = f"{one.number}-{one.revision}" if one.revision else str(one.number)
        mine = mails.filter(subject__startswith=f"Proposal {label} from ")
        mine.filter(created_at__gte=row.sent_at).update(kind="proposal", about=row.pk)
    invoices = apps.get_model("estimating", "Invoice").objects.exclude(sent_to="")
    for row in invoices.exclude(number=None):
        subject = f"Invoice {row.number} from "
        mails.filter(subject__startswith=subject).update(kind="invoice", about=row.pk)


class Migration(migrations.Migration):
    dependencies = [
        ("estimating", "0012_finer_costs"),
        ("firm", "0016_what_a_mail_brings"),
    ]

    operations = [
        migrations.RunPython(name_what_mails_bring, migrations.RunPython.noop),
    ]
