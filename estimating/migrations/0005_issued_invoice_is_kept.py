"""The database refuses to change what an issued invoice says."""

from django.db import migrations

from firm.append_only import keep_parts_of_settled, keep_settled_rows

IS_ISSUED = "{row}state <> 'draft'"


class Migration(migrations.Migration):
    dependencies = [("estimating", "0004_changes_and_invoices")]

    operations = [
        keep_settled_rows(
            "estimating_invoice",
            settled=IS_ISSUED,
            columns=[
                "proposal_id",
                "number",
                "kind",
                "amount",
                "note",
                "drafted_at",
                "issued_on",
                "due_on",
                "content",
            ],
            filled_once=["pdf", "pdf_sha256", "voided_reason"],
        ),
        keep_parts_of_settled(
            "estimating_invoiceline",
            parent="estimating_invoice",
            link="invoice_id",
            settled=IS_ISSUED,
        ),
    ]
