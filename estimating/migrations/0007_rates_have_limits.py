from django.db import migrations, models
from django.utils import timezone

# What moves a rate, as the starter set had it when these rows were new.
NEW_ROWS = (
    ("hours", "dig.rock_hole", 2.75),
    ("hours", "dig.again", 0.2),
    ("hours", "dig.frost_extra", 0.3),
    ("hours", "travel.paid_hour", 1.0),
    ("hours", "slope.steep_factor", 1.2),
    ("hours", "slope.hand_factor", 1.2),
    ("hours", "crew.large_factor", 1.125),
    ("limits", "slope.steep_pct", 10.0),
    ("limits", "slope.hand_pct", 25.0),
    ("limits", "access.skid_steer_in", 72.0),
    ("limits", "access.mini_loader_in", 40.0),
    ("limits", "setup.phase_crew", 3.0),
    ("limits", "crew.large_from", 4.0),
    ("limits", "crew.large_pays_ft", 300.0),
)


def add_rows_for_a_firm_at_work(apps, schema_editor):
    """A firm without rates gets these rows with all others when it is set up."""
    rates = apps.get_model("estimating", "ProductionRate")
    if not rates.objects.exists():
        return
    today = timezone.localdate()
    known = set(rates.objects.values_list("kind", "key"))
    rates.objects.bulk_create(
        rates(kind=kind, key=key, value=value, effective_from=today)
        for kind, key, value in NEW_ROWS
        if (kind, key) not in known
    )


def take_rows_away(apps, schema_editor):
    """Before this step no rate knew limits, and nothing asked for the other rows."""
    rates = apps.get_model("estimating", "ProductionRate")
    for kind, key, _value in NEW_ROWS:
        rates.objects.filter(kind=kind, key=key).delete()


class Migration(migrations.Migration):
    dependencies = [
        ("estimating", "0006_signed_change_order_is_kept"),
    ]

    operations = [
        migrations.AlterField(
            model_name="productionrate",
            name="kind",
            field=models.CharField(
                choices=[
                    ("hours", "Labour hours"),
                    ("swell_pct", "Swell of dug soil, per cent"),
                    ("limits", "From where on a rate moves"),
                ],
                default="hours",
                max_length=10,
            ),
        ),
        migrations.RunPython(add_rows_for_a_firm_at_work, take_rows_away),
    ]
