"""Costs to eight places: a price typed for a metre is kept whole for a foot."""

import django.core.validators
from django.db import migrations

import firm.models.money


def fine_cost() -> firm.models.money.FineCostField:
    return firm.models.money.FineCostField(
        decimal_places=8,
        max_digits=16,
        validators=[django.core.validators.MinValueValidator(0)],
    )


class Migration(migrations.Migration):
    dependencies = [("estimating", "0011_supplier_names_go")]

    operations = [
        migrations.AlterField("estimateoverride", "value", fine_cost()),
        migrations.AlterField("priceitem", "unit_cost", fine_cost()),
    ]
