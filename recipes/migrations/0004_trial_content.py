"""Keep with each trial batch the method as it was brewed."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("recipes", "0003_kit_pitch"),
    ]

    operations = [
        migrations.AddField(
            model_name="trialbatch",
            name="content",
            field=models.JSONField(default=dict),
        ),
    ]
