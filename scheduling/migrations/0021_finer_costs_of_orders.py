"""An order's costs to eight places, as the price book keeps them.

SQLite copies the table, so the guard of sent orders' lines is taken away and laid anew.
"""

from decimal import Decimal

import django.core.validators
from django.db import migrations

import firm.models.money
from firm.append_only import keep_parts_of_settled

LINES = keep_parts_of_settled(
    "scheduling_orderline",
    parent="scheduling_purchaseorder",
    link="order_id",
    settled="{row}state <> 'draft'",
)


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0020_what_a_rain_out_leaves_short")]

    operations = [
        migrations.RunPython(LINES.reverse_code, LINES.code),
        migrations.AlterField(
            "orderline",
            "unit_cost",
            firm.models.money.FineCostField(
                decimal_places=8,
                max_digits=16,
                validators=[django.core.validators.MinValueValidator(Decimal(0))],
            ),
        ),
        migrations.RunPython(LINES.code, LINES.reverse_code),
    ]
