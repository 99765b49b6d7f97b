from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('planning', '0003_engine'),
    ]

    operations = [
        migrations.AddField(
            model_name='dispatch',
            name='content',
            field=models.JSONField(default=dict),
        ),
    ]
