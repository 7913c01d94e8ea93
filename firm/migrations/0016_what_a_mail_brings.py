"""A mail says which proposal, invoice or order it brings; `estimating` fills in what was kept."""

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps


def forget_what_they_bring(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """On the way back: the kinds there were are a link to a password, and others."""
    mails = apps.get_model("firm", "OutgoingMail").objects
    mails.exclude(kind__in=["password", "other"]).update(kind="other")


class Migration(migrations.Migration):
    dependencies = [
        ("firm", "0015_what_a_mail_is_for"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="outgoingmail",
            name="mail_kind_known",
        ),
        migrations.RunPython(migrations.RunPython.noop, forget_what_they_bring),
        migrations.AddField(
            model_name="outgoingmail",
            name="about",
            field=models.PositiveBigIntegerField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="outgoingmail",
            name="kind",
            field=models.CharField(
                choices=[
                    ("password", "Link to a password"),
                    ("proposal", "A proposal for its customer"),
                    ("invoice", "An invoice for its customer"),
                    ("order", "A purchase order for its supplier"),
                    ("other", "Other"),
                ],
                default="other",
                max_length=8,
            ),
        ),
        migrations.AddIndex(
            model_name="outgoingmail",
            index=models.Index(fields=["kind", "about"], name="firm_outgoi_kind_4540e5_idx"),
        ),
        migrations.AddConstraint(
            model_name="outgoingmail",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("about__isnull", False), ("kind", "proposal")),
                    models.Q(("about__isnull", False), ("kind", "invoice")),
                    models.Q(("about__isnull", False), ("kind", "order")),
                    models.Q(("about__isnull", True), ("kind__in", ["password", "other"])),
                    _connector="OR",
                ),
                name="mail_kind_known",
            ),
        ),
    ]
