"""The database refuses to change a signed change order, and the ground as it was found."""

from django.db import migrations

from firm.append_only import keep_rows, keep_settled_rows


class Migration(migrations.Migration):
    dependencies = [("estimating", "0005_issued_invoice_is_kept")]

    operations = [
        keep_settled_rows(
            "estimating_changeorder",
            settled="{row}state = 'signed'",
            columns=[
                "proposal_id",
                "number",
                "ground_change_id",
                "title",
                "description",
                "price_before_tax",
                "sales_tax",
                "direct_cost",
                "labor_hours",
                "extra_days",
                "way",
                "signed_name",
                "strokes",
                "decided_at",
                "decided_note",
                "created_at",
            ],
        ),
        keep_rows("estimating_groundchange", person="made_by_id"),
    ]
