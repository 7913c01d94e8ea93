"""Purchase orders are numbered like invoices."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("firm", "0011_how_concrete_comes")]

    operations = [
        migrations.AddField(
            model_name="firmprofile",
            name="next_order_number",
            field=models.PositiveIntegerField(default=1001),
        ),
    ]
