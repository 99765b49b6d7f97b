from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('accounts', '0002_science'),
    ]

    operations = [
        migrations.AddField(
            model_name='sitesettings',
            name='starter_billion_per_l',
            field=models.FloatField(default=50.0),
        ),
    ]
