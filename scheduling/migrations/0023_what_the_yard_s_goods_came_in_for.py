"""The yard's goods keep what they came in for, receipts their share of freight and tax.

What lies in the yard already is worth the price of its last receipt; that stands on the receipt's
own move, so that moves add up to what lies there. What was loaded before cost its job nothing here:
its part of an invoice was typed. The tables that are kept for ever are altered, so their guards
are taken away and laid anew.
"""

from decimal import ROUND_HALF_UP, Decimal

import django.db.models.deletion
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from firm.append_only import keep_rows

RECEIPTS = keep_rows("scheduling_receipt", person="received_by_id")
MOVES = keep_rows("scheduling_stockmove", person="moved_by_id")


def _without(guard: migrations.RunPython) -> migrations.RunPython:
    """Return the step that takes a guard away, and lays it when it is undone."""
    return migrations.RunPython(guard.reverse_code, guard.code)


def value_what_lies_there(apps: Apps, _editor: BaseDatabaseSchemaEditor) -> None:
    """Value what lies in the yard at the price of its last receipt."""
    stock, moves = (apps.get_model("scheduling", name) for name in ("YardStock", "StockMove"))
    for row in stock.objects.filter(count__gt=0):
        came = moves.objects.filter(stock=row, kind="received").order_by("-pk")
        move = came.select_related("receipt__line").first()
        if move is None:
            continue
        worth = row.count * move.receipt.line.unit_cost
        worth = worth.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
        moves.objects.filter(pk=move.pk).update(worth=worth)
        stock.objects.filter(pk=row.pk).update(worth=worth)


class Migration(migrations.Migration):
    dependencies = [
        ("scheduling", "0022_how_the_air_of_a_day_dries_concrete"),
    ]

    operations = [
        _without(RECEIPTS),
        _without(MOVES),
        migrations.AddField(
            model_name="jobcost",
            name="stock_move",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="cost",
                to="scheduling.stockmove",
            ),
        ),
        migrations.AddField(
            model_name="receipt",
            name="extra",
            field=models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=12),
        ),
        migrations.AddField(
            model_name="stockmove",
            name="worth",
            field=models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=12),
        ),
        migrations.AddField(
            model_name="yardstock",
            name="worth",
            field=models.DecimalField(decimal_places=2, default=Decimal("0"), max_digits=12),
        ),
        migrations.RunPython(value_what_lies_there, migrations.RunPython.noop),
        migrations.AddConstraint(
            model_name="jobcost",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("stock_move__isnull", True),
                    models.Q(("kind", "material"), ("order__isnull", True)),
                    _connector="OR",
                ),
                name="what_the_yard_gave_is_material",
            ),
        ),
        migrations.AddConstraint(
            model_name="yardstock",
            constraint=models.CheckConstraint(
                condition=models.Q(("worth__gte", 0)), name="stock_worth_not_below_0"
            ),
        ),
        RECEIPTS,
        MOVES,
    ]
