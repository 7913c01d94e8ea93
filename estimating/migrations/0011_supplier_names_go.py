"""The names beside the items go; by itself, because PostgreSQL alters no table it just wrote to."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("estimating", "0010_suppliers_as_rows")]

    operations = [migrations.RemoveField("priceitem", "supplier_name")]
