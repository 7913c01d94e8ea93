"""A receipt may be taken back by a row of its own; what came to a site is a cost of its job.

The two tables that are kept for ever are altered, so their guards are taken away and laid anew.
"""

import django.db.models.deletion
from django.db import migrations, models

from firm.append_only import keep_rows

RECEIPTS = keep_rows("scheduling_receipt", person="received_by_id")
MOVES = keep_rows("scheduling_stockmove", person="moved_by_id")


def _without(guard: migrations.RunPython) -> migrations.RunPython:
    """Return the step that takes a guard away, and lays it when it is undone."""
    return migrations.RunPython(guard.reverse_code, guard.code)


class Migration(migrations.Migration):
    dependencies = [
        ("scheduling", "0018_what_bars_a_block"),
    ]

    operations = [
        _without(RECEIPTS),
        _without(MOVES),
        migrations.RemoveConstraint(
            model_name="receipt",
            name="receipt_counts_something",
        ),
        migrations.RemoveConstraint(
            model_name="stockmove",
            name="stock_move_as_its_kind",
        ),
        migrations.AddField(
            model_name="jobcost",
            name="invoice",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="covers",
                to="scheduling.jobcost",
            ),
        ),
        migrations.AddField(
            model_name="jobcost",
            name="order",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="costs",
                to="scheduling.purchaseorder",
            ),
        ),
        migrations.AddField(
            model_name="receipt",
            name="cost",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="receipts",
                to="scheduling.jobcost",
            ),
        ),
        migrations.AddField(
            model_name="receipt",
            name="takes_back",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="taken_back_by",
                to="scheduling.receipt",
            ),
        ),
        migrations.AlterField(
            model_name="receipt",
            name="count",
            field=models.IntegerField(default=0),
        ),
        migrations.AlterField(
            model_name="receipt",
            name="damaged",
            field=models.IntegerField(default=0),
        ),
        migrations.AlterField(
            model_name="stockmove",
            name="kind",
            field=models.CharField(
                choices=[
                    ("received", "Received"),
                    ("loaded", "Loaded for a job"),
                    ("returned", "Left over from a job"),
                    ("corrected", "Counted anew"),
                    ("undone", "Receipt taken back"),
                ],
                max_length=9,
            ),
        ),
        migrations.AddConstraint(
            model_name="jobcost",
            constraint=models.CheckConstraint(
                condition=models.Q(("order__isnull", True), ("kind", "material"), _connector="OR"),
                name="what_came_of_an_order_is_material",
            ),
        ),
        migrations.AddConstraint(
            model_name="jobcost",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("invoice__isnull", True), ("order__isnull", False), _connector="OR"
                ),
                name="an_invoice_covers_what_came",
            ),
        ),
        migrations.AddConstraint(
            model_name="receipt",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("count__gte", 0),
                        ("damaged__gte", 0),
                        ("takes_back__isnull", True),
                        models.Q(("count__gt", 0), ("damaged__gt", 0), _connector="OR"),
                    ),
                    models.Q(
                        ("count__lte", 0),
                        ("damaged__lte", 0),
                        ("takes_back__isnull", False),
                        models.Q(("count__lt", 0), ("damaged__lt", 0), _connector="OR"),
                        models.Q(("note", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="receipt_comes_or_is_taken_back",
            ),
        ),
        migrations.AddConstraint(
            model_name="stockmove",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("change__gt", 0), ("kind", "received"), ("receipt__isnull", False)),
                    models.Q(("change__lt", 0), ("job__isnull", False), ("kind", "loaded")),
                    models.Q(("change__gt", 0), ("job__isnull", False), ("kind", "returned")),
                    models.Q(
                        ("change__lt", 0),
                        ("kind", "undone"),
                        ("receipt__isnull", False),
                        models.Q(("reason", ""), _negated=True),
                    ),
                    models.Q(
                        ("kind", "corrected"),
                        models.Q(("change", 0), _negated=True),
                        models.Q(("reason", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="stock_move_as_its_kind",
            ),
        ),
        RECEIPTS,
        MOVES,
    ]
