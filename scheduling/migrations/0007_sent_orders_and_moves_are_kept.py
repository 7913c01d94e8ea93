"""The database refuses to change what a sent order says, what was received and what was moved."""

from django.db import migrations

from firm.append_only import keep_parts_of_settled, keep_rows, keep_settled_rows

IS_SENT = "{row}state <> 'draft'"


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0006_purchase_orders_and_yard_stock")]

    operations = [
        keep_settled_rows(
            "scheduling_purchaseorder",
            settled=IS_SENT,
            columns=[
                "supplier_id",
                "number",
                "job_id",
                "needed_by",
                "note",
                "created_at",
                "sent_at",
                "sent_on",
                "content",
            ],
            filled_once=["pdf", "pdf_sha256", "cancelled_reason"],
        ),
        keep_parts_of_settled(
            "scheduling_orderline",
            parent="scheduling_purchaseorder",
            link="order_id",
            settled=IS_SENT,
        ),
        keep_rows("scheduling_receipt", person="received_by_id"),
        keep_rows("scheduling_stockmove", person="moved_by_id"),
    ]
