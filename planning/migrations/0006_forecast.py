from django.db import migrations, models
import django.db.models.deletion


class Migration(migrations.Migration):
    dependencies = [
        ("planning", "0005_firm_demand"),
        ("recipes", "0007_kit_planning"),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="demand", name="demand_once"),
        migrations.RemoveConstraint(model_name="demand", name="demand_positive"),
        migrations.RemoveField(model_name="demand", name="source"),
        migrations.RemoveField(model_name="demand", name="reference"),
        migrations.RenameModel(old_name="Demand", new_name="Forecast"),
        migrations.RenameField(model_name="forecast", old_name="wanted_on", new_name="week_on"),
        migrations.AlterModelOptions(name="forecast", options={"ordering": ["week_on", "kit"]}),
        migrations.AlterField(
            model_name="forecast",
            name="kit",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="forecasts",
                to="recipes.kit",
            ),
        ),
        migrations.AddConstraint(
            model_name="forecast",
            constraint=models.UniqueConstraint(fields=("kit", "week_on"), name="forecast_once"),
        ),
        migrations.AddConstraint(
            model_name="forecast",
            constraint=models.CheckConstraint(
                condition=models.Q(("kits__gt", 0)), name="forecast_positive"
            ),
        ),
    ]
