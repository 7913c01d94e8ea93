"""Suppliers become rows: what was typed as a name beside an item names one of them."""

import django.core.validators
import django.db.models.deletion
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def make_rows_of_names(apps: Apps, _editor: BaseDatabaseSchemaEditor) -> None:
    supplier, item = (apps.get_model("estimating", name) for name in ("Supplier", "PriceItem"))
    for row in item.objects.exclude(supplier_name=""):
        named = row.supplier_name.strip()
        if named:
            row.supplier, _ = supplier.objects.get_or_create(name=named)
            row.save(update_fields=["supplier"])


def write_names_back(apps: Apps, _editor: BaseDatabaseSchemaEditor) -> None:
    item = apps.get_model("estimating", "PriceItem")
    for row in item.objects.filter(supplier__isnull=False).select_related("supplier"):
        row.supplier_name = row.supplier.name
        row.save(update_fields=["supplier_name"])


class Migration(migrations.Migration):
    dependencies = [("estimating", "0009_alternates_and_what_is_uncertain")]

    operations = [
        migrations.CreateModel(
            name="Supplier",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120, unique=True)),
                ("phone", models.CharField(blank=True, max_length=40)),
                ("email", models.EmailField(blank=True, max_length=254)),
                ("account_number", models.CharField(blank=True, max_length=60)),
                (
                    "lead_days",
                    models.PositiveSmallIntegerField(
                        default=0, validators=[django.core.validators.MaxValueValidator(365)]
                    ),
                ),
                ("is_active", models.BooleanField(default=True)),
            ],
            options={
                "ordering": ("name",),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("lead_days__gte", 0), ("lead_days__lte", 365)),
                        name="supplier_lead_up_to_a_year",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("name", ""), _negated=True),
                        name="supplier_has_a_name",
                    ),
                ],
            },
        ),
        migrations.RenameField("priceitem", "supplier", "supplier_name"),
        migrations.AddField(
            model_name="priceitem",
            name="supplier",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="items",
                to="estimating.supplier",
            ),
        ),
        migrations.RunPython(make_rows_of_names, write_names_back),
    ]
